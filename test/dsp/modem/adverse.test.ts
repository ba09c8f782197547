// Frames in audio with troubles that no white noise has, at levels where noise alone would leave nearly all of them.
import { expect, it } from 'vitest'
import { createReceiver } from '../../../dsp/modem/receiver.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { type Condition, conditions, hear } from '../../bench/conditions.js'
import { hex, testFrame } from './receiving.js'

const sampleRateHz = 24_000
const framesEach = 8

function named(name: string): Condition {
  const condition = conditions.find((one) => one.name === name)
  if (condition === undefined) throw new Error(`no condition named ${name}`)
  return condition
}

/** How many of eight frames are read, at an Eb/N0. */
function read(condition: Condition, ebN0Db: number): number {
  const random = seededRandom(5)
  const receiver = createReceiver({ sampleRateHz, repair: 'careful' })
  const sent = Array.from({ length: framesEach }, (_, n) => testFrame(30 + 8 * n, random))
  const got = sent.flatMap((octets) =>
    receiver.push(hear(condition, octets, ebN0Db, sampleRateHz, random)),
  )
  const found = new Set([...got, ...receiver.finish()].map((frame) => hex(frame.octets)))
  expect([...found].filter((one) => !sent.map(hex).includes(one))).toEqual([])
  return found.size
}

it.each([
  ['hum and buzz', 9, 7],
  ['sub-audible tone', 8, 7],
  ['offset jumps', 9, 7],
  ['ignition', 8, 7],
  ['one crash', 9, 6],
  ['+200 Hz', 7, 7],
  ['-200 Hz', 7, 7],
  ['echo 1.2 ms', 7, 3],
  ['1200/2400 Hz, +8 dB', 10, 6],
  ['40 Hz of drift', 8, 7],
  ['half a flag', 10, 7],
  ['hole of 0.5 to 2 ms', 14, 5],
])('%s at %i dB Eb/N0: %i frames of 8 at least', (name, ebN0Db, least) => {
  expect(read(named(name), ebN0Db)).toBeGreaterThanOrEqual(least)
})

// No gap between what the detector in tune follows and what those beside it do.
it.each([-240, -160, -130, -100, 100, 130, 160, 240])(
  'tones %i Hz off at 9 dB Eb/N0',
  (toneOffsetHz) => {
    const condition = { name: 'off tune', fromDb: 9, toDb: 9, sender: { toneOffsetHz } }
    expect(read(condition, 9)).toBe(framesEach)
  },
)
