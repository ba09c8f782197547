import { describe, expect, it } from 'vitest'
import { decodeFrame } from '../../src/ax25/frame.js'
import { formatLine } from '../../src/ax25/line.js'
import { parseConfig } from '../../src/config/load.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { createServices } from '../../src/services/all.js'
import type { Service } from '../../src/services/service.js'
import { nodeOptions } from '../../src/setup/nodeOptions.js'
import { serviceOptions } from '../../src/setup/serviceOptions.js'
import { airLanguages } from '../../src/words/air/texts.js'
import { type TestNode, testNode } from './testNode.js'

/*
 * As machines.test.ts, for nodes that speak each of the five languages and have services of their own, which answer with keywords,
 * questions and calls for more: of two nodes, and of a node and an echo, each sends twice at most and is then silent for an hour.
 */
const beginnings: Readonly<Record<string, readonly string[]>> = {
  en: [
    'hello',
    'weather and bus',
    'book the hut',
    'quiz',
    'power',
    'fusion or dstar',
    'Q1ABC no answer',
    'i dont understand',
  ],
  de: [
    'moin',
    'wetter und bus',
    'Hütte buchen',
    'quiz',
    'strom',
    'danke',
    'wer ist da',
    'versteh ich nicht',
  ],
  fr: [
    'bonjour',
    'météo et bus',
    'réserver le refuge',
    'quiz',
    'merci',
    "qui m'entend",
    'pas compris',
    'à qui',
  ],
  es: [
    'buenos días',
    'tiempo y autobus',
    'reservar el refugio',
    'quiz',
    'gracias',
    'quien me oye',
    'no entiendo',
    'que?',
  ],
  it: [
    'buongiorno',
    'meteo e autobus',
    'prenotare il rifugio',
    'quiz',
    'grazie',
    'chi mi sente',
    'non capisco',
    'cosa?',
  ],
}

const own = (keyword: string, answer: string, synonyms: readonly string[] = []): Service => ({
  ...{ keyword, synonyms, summary: `of the club: ${keyword}`, usage: keyword },
  ...{ takes: 'text', isOwn: true },
  answer: () => answer,
})
/** Their answers ask for something themselves. */
const ownServices = [
  own('quiz', 'quiz: how high is Heron Knob? Send quiz and the height'),
  own('power', 'power 12.6 V. help power', ['strom']),
  own('echo', 'echo echo echo?'),
]

async function speaking(language: string) {
  const clock = virtualClock()
  const config = parseConfig(`[station]\nlanguage = "${language}"\n`, 'test')
  const open = createServices(serviceOptions(config, '.', clock, () => {}))
  await open.ready
  open.add(ownServices)
  return { open, options: nodeOptions(config, { wordings: open.wordings }) }
}

const hourS = 3_600
/** On the air for so long before it is silent, at most: then an hour without a word. */
const lengthS = 2 * hourS

describe.each(airLanguages)('nodes that speak %s', (language) => {
  it.each(beginnings[language]!)('two of them: %s', async (text) => {
    const { open, options } = await speaking(language)
    const nodeOf = (call: string, clock = virtualClock()) =>
      testNode({ options: { ...options, call }, services: open.services, clock })
    const a = nodeOf('N0DE-10')
    const b = nodeOf('N0DE-11', a.clock)
    const relay = (from: TestNode, to: TestNode): number => {
      const fresh = from.port.sent.splice(0)
      for (const { request } of fresh) to.port.hear(request.octets)
      return fresh.length
    }
    a.hear(`N0DE-11>APZ001::N0DE-10  :${text}{1`)
    const count = { a: 0, b: 0 }
    let lastS = 0
    for (let second = 0; second < lengthS; second += 2) {
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

  it('a node and an echo', async () => {
    for (const text of beginnings[language]!)
      for (const echoed of [(one: string) => one, (one: string) => one.replace(/\{\w+$/, '')]) {
        const { open, options } = await speaking(language)
        const node = testNode({ options: { ...options, call: 'N0DE-10' }, services: open.services })
        let sentCount = 0
        let lastS = 0
        node.ask('N0CALL-7', `${text}{1`)
        for (let second = 0; second < lengthS; second += 2) {
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
