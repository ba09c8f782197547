// The control operator stops the station, whoever else sends under his call, and whatever has run out.
import { describe, expect, it } from 'vitest'
import { type ControlSecret, createCodeCheck } from '../../src/control/codeCheck.js'
import { counterCode } from '../../src/control/oneTimeCode.js'
import { confirmMs, createStationHold } from '../../src/control/stationHold.js'
import { Failure } from '../../src/runtime/failure.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { controlServices } from '../../src/services/control.js'
import { echoService, type TestNode, testNode } from './testNode.js'

const secret = new TextEncoder().encode('12345678901234567890')
const code = (counter: number): string => counterCode(secret, counter, 8)

/** A node that Q1OPS may stop. */
function station(): TestNode & { held(): boolean } {
  const clock = virtualClock()
  let kept: ControlSecret = { call: 'Q1OPS', goesBy: 'counter', secret, counter: 0 }
  let isHeld = false
  const hold = createStationHold({
    ...{ clock, kept: undefined, keep: () => true },
    hold: () => {
      isHeld = true
    },
    release: () => {
      isHeld = false
    },
  })
  const book = {
    of: (call: string) => (call === kept.call ? [kept] : []),
    keepCounter(_: ControlSecret, counter: number) {
      kept = { ...kept, counter }
      return true
    },
  }
  const services = controlServices({
    ...{ clock, hold },
    check: createCodeCheck({ book, window: 20, trustedWallMs: () => undefined }),
    isEnrolled: (call) => call === 'Q1OPS',
    describeState: () => '',
    onCommand: () => {},
  })
  const node = testNode({ clock, services: [...services, echoService] })
  return { ...node, held: () => isHeld }
}

const holdS = confirmMs / 1000 + 1

describe('hold by radio', () => {
  it.each([
    ['wrong codes', (at: number) => `hold ${String(at).padStart(8, '0')}{${at}`],
    ['questions', (at: number) => `echo ${at}{${at}`],
    ['texts that nobody understands', (at: number) => `xyzzy ${at}{${at}`],
  ])('is heeded after a flood of %s under the same call', async (_, text) => {
    const node = station()
    for (let at = 0; at < 40; at++) {
      node.ask('Q1OPS-7', text(at))
      await node.wait(2)
    }
    node.sentTexts()
    node.ask('Q1OPS-7', `hold ${code(0)}{99`)
    await node.wait(holdS)
    expect(node.held()).toBe(true)
    expect(node.sentTexts()).toContain(':Q1OPS-7  :ack99')
  })

  it('is heeded when no airtime is left for an answer', async () => {
    const node = station()
    const airtime = node.port.airtime()
    Object.assign(node.port, {
      airtime: () => ({ ...airtime, allowanceMs: 0, freeMs: () => 0, forecast: () => () => 0 }),
    })
    node.ask('Q1OPS-7', `echo hi{1`)
    await node.wait(2)
    expect(node.events.some(({ kind }) => kind === 'asked')).toBe(false)
    node.ask('Q1OPS-7', `hold ${code(0)}{2`)
    await node.wait(holdS)
    expect(node.held()).toBe(true)
  })

  it('is heeded when the database takes nothing, though nothing is acknowledged', async () => {
    const node = station()
    const failure = new Failure({
      code: 'store-full',
      subject: 'db',
      got: 'full',
      expected: 'room',
    })
    Object.assign(node.store, { durably: () => ({ ok: false, failure }) })
    node.ask('Q1OPS-7', `hold 00000000{1`)
    await node.wait(holdS)
    expect(node.held()).toBe(false)
    node.ask('Q1OPS-7', `hold ${code(0)}{2`)
    await node.wait(holdS)
    expect(node.held()).toBe(true)
  })

  it('with a wrong code, or of another call, gets no more than any question', async () => {
    const node = station()
    for (let at = 0; at < 40; at++) node.ask('Q1OPS-7', `hold 00000000 {${at}`)
    for (let at = 0; at < 40; at++) node.ask('Q2BAD', `hold ${code(at % 20)}{${at}`)
    await node.wait(60)
    expect(node.held()).toBe(false)
    const rejected = node.sentTexts().filter((text) => /:rej\d/.test(text))
    expect(rejected.length).toBeGreaterThan(40)
  })
})
