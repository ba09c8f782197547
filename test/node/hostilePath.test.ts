import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { addressOctetCount } from '../../src/ax25/address.js'
import { decodeFrame, encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openStore } from '../../src/store/store.js'
import { type TestNode, testNode } from './testNode.js'

const folder = mkdtempSync(join(tmpdir(), 'ridgepost-path-'))
afterAll(() => rmSync(folder, { recursive: true }))

const own = 'N0DE-10'
const one = <Value>(random: Random, values: readonly Value[]): Value =>
  values[Math.floor(random() * values.length)]!

/** Digipeater fields that no station may have, by the way in which they are wrong. */
const malformed: readonly ((random: Random) => string)[] = [
  () => '',
  (random) => one(random, ['A B', 'N0 CAL', ' N0CAL', 'D  1']),
  (random) => one(random, ['DIG/1', 'WIDE1,', 'A>B', 'N0DE:1', 'DIG*', '{N0', 'N0-1']),
  (random) => one(random, ['n0call', 'Dig1', 'wide1', 'n0de']),
  // control characters, and octets above ASCII, which the shift by a bit makes of them
  (random) => String.fromCharCode(...Array.from({ length: 6 }, () => Math.floor(random() * 0x20))),
  (random) =>
    String.fromCharCode(...Array.from({ length: 6 }, () => 0x21 + Math.floor(random() * 0x5f))),
]
const wellFormed = ['N1CALL', 'WIDE1', 'WIDE2', 'N2CALL']

/** A frame of `source` with up to ten digipeaters, at least one of them malformed, and what their SSID octets may hold. */
function hostileFrame(source: string, text: string, random: Random): Uint8Array {
  const count = 1 + Math.floor(random() * 10)
  const bad = Math.floor(random() * count)
  const names = Array.from({ length: count }, (_, at) => {
    if (at === bad || random() < 0.3) return one(random, malformed)(random)
    return random() < 0.2 ? 'N0DE' : one(random, wellFormed)
  })
  const repeatedCount = bad + 1 + Math.floor(random() * (count - bad))
  const address = (call: string, ssid: number) => ({ call, ssid })
  const octets = encodeFrame(
    uiFrame({
      source: address(source, 7),
      destination: address('APZ001', 0),
      path: names.map((_, at) => ({
        address: address('X', one(random, [0, 1, 7, 10, 15])),
        repeated: at < repeatedCount,
      })),
      payload: new TextEncoder().encode(text),
    }),
  )
  for (const [at, name] of names.entries())
    for (let column = 0; column < 6; column++)
      octets[(2 + at) * addressOctetCount + column] = (name.charCodeAt(column) || 0x20) << 1
  return octets
}

const payloads = [
  '>on the ridge',
  '!4903.50N/07201.75W>',
  `:${own.padEnd(9)}:ack999`,
  `:${own.padEnd(9)}:echo again{77`,
  `:${own.padEnd(9)}:?APRST`,
  `:${own.padEnd(9)}:?APRSM`,
  `:${'N9NONE'.padEnd(9)}:not for the node`,
]

const lettersOf = (count: number): string =>
  String.fromCharCode(65 + Math.floor(count / 26), 65 + (count % 26))

/** A stranger asks, and is answered under its number. */
async function expectAnswer(node: TestNode, stranger: string): Promise<void> {
  node.sentTexts()
  node.ask(stranger, 'echo polite{9')
  await node.wait(5)
  const texts = node.sentTexts().filter((text) => text.includes(stranger))
  expect(texts).toEqual([
    `:${stranger.padEnd(9)}:ack9`,
    expect.stringMatching(new RegExp(`^:${stranger.padEnd(9)}:polite\\{`)),
  ])
  // its radio acknowledges, so that nothing stays open
  const number = /\{(\w+)$/.exec(texts[1]!)![1]
  node.ask(stranger, `ack${number}`)
  await node.wait(1)
}

describe('a way back that no frame can take', () => {
  const variants = 1_000
  const batch = 100

  it(`in ${variants} variants leaves a node that answers, before and after a restart`, async () => {
    for (let first = 0; first < variants; first += batch) {
      const file = join(folder, `seed-${first}.db`)
      const clock = virtualClock()
      const options = { limits: { perStation: 1_000, overall: 1_000_000 } }
      const store = openStore({ file, clock })
      const node = testNode({ file, clock, store, options })
      for (let seed = first; seed < first + batch; seed++) {
        const random = seededRandom(seed)
        const source = `N3${lettersOf(seed % 676)}${Math.floor(seed / 676)}`
        // it asks, is answered, does not acknowledge; then it is heard through what is no digipeater
        node.ask(`${source}-7`, `echo seed ${seed}{1`)
        await node.wait(1 + 30 * random())
        node.port.hear(hostileFrame(source, one(random, payloads), random))
        await node.wait(random() < 0.5 ? 1 : 200)
      }
      const answered = node.port.sent.length
      expect(answered, `seeds from ${first}`).toBeGreaterThan(batch * 2)
      await expectAnswer(node, 'N4POL-1')
      node.node.stop()
      store.close()

      const later = openStore({ file, clock })
      const again = testNode({ file, clock, store: later, options })
      await again.wait(200)
      await expectAnswer(again, 'N4POL-2')
      const faults = [...node.events, ...again.events].filter(({ kind }) => kind === 'fault')
      expect(faults, `seeds from ${first}`).toEqual([])
      for (const { request } of [...node.port.sent, ...again.port.sent]) {
        const decoded = decodeFrame(request.octets, { strict: true })
        if (!decoded.ok) throw new Error(decoded.reason)
        const calls = decoded.frame.path.map(({ address }) => `${address.call}-${address.ssid}`)
        expect(calls).not.toContain(own)
      }
      again.node.stop()
      later.close()
    }
  }, 120_000)
})
