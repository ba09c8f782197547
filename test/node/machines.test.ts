import { describe, expect, it } from 'vitest'
import { decodeFrame } from '../../src/ax25/frame.js'
import { formatLine } from '../../src/ax25/line.js'
import { parseConfig } from '../../src/config/load.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { createServices } from '../../src/services/all.js'
import { serviceOptions } from '../../src/setup/serviceOptions.js'
import { type TestNode, testNode } from './testNode.js'

/*
 * Machines that answer machines fall silent: of two nodes, and of a node and an echo, each sends twice at most, and then nothing
 * for an hour, whatever the first word between them was.
 */
const beginnings = [
  ...[
    'good morning',
    'hello',
    'ping',
    '73',
    'thanks',
    'weather',
    'repeaters 2',
    'help',
    'lorem dolor',
  ],
  ...[
    'conditions',
    'repaeters',
    'heard',
    'sun',
    'moon tomorrow',
    'where are you',
    'he',
    'board',
    '?',
  ],
]

const services = async () => {
  const clock = virtualClock()
  const config = parseConfig('', 'test')
  const open = createServices(serviceOptions(config, '.', clock, () => {}))
  await open.ready
  return open
}

const hourS = 3_600

describe('two nodes', () => {
  it.each(beginnings)('%s', async (text) => {
    const open = await services()
    const a = testNode({ options: { call: 'N0DE-10' }, services: open.services })
    const b = testNode({ options: { call: 'N0DE-11' }, services: open.services, clock: a.clock })
    const count = { a: 0, b: 0 }
    const relay = (from: TestNode, to: TestNode): number => {
      const fresh = from.port.sent.splice(0)
      for (const { request } of fresh) to.port.hear(request.octets)
      return fresh.length
    }
    // Somebody on the way to it takes the other's call.
    a.hear(`N0DE-11>APZ001::N0DE-10  :${text}{1`)
    let lastS = 0
    for (let second = 0; second < 2 * hourS; second += 2) {
      await a.wait(2)
      const [fromA, fromB] = [relay(a, b), relay(b, a)]
      count.a += fromA
      count.b += fromB
      if (fromA + fromB > 0) lastS = second
    }
    expect(count.b, 'the other').toBeLessThanOrEqual(2)
    expect(lastS).toBeLessThan(hourS)
    await open.close()
  })
})

describe('an echo', () => {
  const echoes: readonly [string, (text: string) => string][] = [
    ['word for word', (text) => text],
    ['without number', (text) => text.replace(/\{\w+$/, '')],
    ['quoted', (text) => (/^(ack|rej)/.test(text) ? text : `You said: ${text}`)],
    ['in capitals', (text) => text.replace(/^(?!ack|rej)[^{]*/, (part) => part.toUpperCase())],
  ]
  it.each(echoes)('%s', async (_, echoed) => {
    for (const text of beginnings) {
      const open = await services()
      const node = testNode({ services: open.services })
      let sentCount = 0
      let lastS = 0
      node.ask('N0CALL-7', `${text}{1`)
      for (let second = 0; second < 2 * hourS; second += 2) {
        await node.wait(2)
        for (const { request } of node.port.sent.splice(0)) {
          sentCount++
          lastS = second
          const decoded = decodeFrame(request.octets)
          if (!decoded.ok) throw new Error(decoded.reason)
          const line = formatLine(decoded.frame)
          node.ask('N0CALL-7', echoed(line.slice(line.indexOf('::') + 12)))
        }
      }
      expect(sentCount, text).toBeLessThanOrEqual(2)
      expect(lastS, text).toBeLessThan(hourS)
      await open.close()
    }
  })
})

it('a machine that has an own word for everything is answered three times in an hour', async () => {
  const node = testNode()
  for (let at = 0; at < 200; at++) {
    node.ask('N0CALL-7', `Sorry ${at} is unheard of`)
    await node.wait(20)
  }
  expect(node.sentTexts().length).toBeLessThanOrEqual(6)
})

it('who greets often is acknowledged, and can still ask', async () => {
  const node = testNode()
  for (let at = 1; at <= 6; at++) {
    node.ask('N0CALL-7', `test ${at}{${at}`)
    await node.wait(2)
    node.ask('N0CALL-7', `ack${100 + at}`)
    await node.wait(120)
  }
  const texts = node.sentTexts()
  expect(texts.filter((text) => text.includes(':ack'))).toHaveLength(6)
  expect(texts.filter((text) => text.includes('Hello N0CALL-7'))).toHaveLength(3)
  node.ask('N0CALL-7', 'echo one')
  await node.wait(2)
  expect(node.sentTexts()).toEqual([':N0CALL-7 :one'])
})
