import { type ChildProcess, spawn } from 'node:child_process'
import { rmSync, writeFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { afterEach, describe, expect, it, type TestContext } from 'vitest'
import { contentDurationMs } from '../../src/radio/transmissionAudio.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { hasAlsaTools } from '../audio/alsaHome.js'
import { edgesIn, waitFor } from '../ptt/helperProcess.js'
import { audioWith, decode, frame, ownCall, request, transmitDefaults } from './fixtures.js'
import { judgedUnlessStarved } from './judgedUnlessStarved.js'
import { type LiveBench, type LiveRadio, liveBench, rateHz } from './liveBench.js'
import { schedulingWitness } from './schedulingWitness.js'

/** What is promised. */
const unkeyedWithinMs = 250
const agreeWithinMs = 10
/** A machine that runs everything within that time lets us judge that. */
const calmGapMs = 5

/** A machine that others keep from running our processes for 100 ms proves nothing about them: such a test is repeated. */
const whileOthersWork = { retry: 2 }

const clock = systemClock()
let bench: LiveBench | undefined
let child: ChildProcess | undefined
afterEach(async () => {
  child?.kill('SIGKILL')
  child = undefined
  await closeBench()
})

const outcomeOf = (radio: LiveRadio, id: string) => () =>
  radio.outcomes.find((outcome) => outcome.id === id && outcome.kind !== 'held')

const airtimeMs = (octets: Uint8Array): number => {
  const { keyDelayMs, tailMs } = transmitDefaults.access
  return contentDurationMs({ kind: 'frames', frames: [octets], preambleMs: keyDelayMs, tailMs })
}

/** From each key down to its key up, as logged by the process that owns the line. */
function keyedSpans(logFile: string): { fromMs: number; lengthMs: number }[] {
  const edges = edgesIn(logFile).slice(1)
  return edges
    .filter(({ edge }) => edge === 'keyed')
    .map(({ monotonicMs: fromMs }) => {
      const off = edges.find(({ edge, monotonicMs }) => edge === 'unkeyed' && monotonicMs > fromMs)
      return { fromMs, lengthMs: (off?.monotonicMs ?? Number.NaN) - fromMs }
    })
}

interface Keyings {
  readonly kinds: readonly string[]
  /** by how much the line was on for longer than the audio lasts */
  readonly excessMs: readonly number[]
  /** of the keyings: the longest time in which this process did not run, of the best one */
  readonly calmestMs: number
}

/** The same frame again and again, until the machine once left us the time to be exact. */
async function severalKeyings(): Promise<Keyings> {
  bench = liveBench(new Float32Array(rateHz / 2))
  const radio = bench.radio()
  const octets = frame(ownCall, 'how long is this?')
  const witness = schedulingWitness()
  const kinds: string[] = []
  let excessMs: number[] = []
  let calmestMs = Number.POSITIVE_INFINITY
  for (let count = 0; count < 12 && !(Math.min(...excessMs) < agreeWithinMs); count++) {
    witness.longestGapMs()
    radio.port.send(request(`a${count}`, octets))
    const { kind } = (await waitFor(outcomeOf(radio, `a${count}`)))!
    kinds.push(kind)
    if (kind !== 'sent') break
    calmestMs = Math.min(calmestMs, witness.longestGapMs())
    excessMs = keyedSpans(bench.logFile).map(({ lengthMs }) => lengthMs - airtimeMs(octets))
  }
  witness.close()
  return { kinds, excessMs, calmestMs }
}

const judgeSpans =
  (context: TestContext) =>
  (seen: Keyings): void => {
    expect(seen.kinds).toEqual(seen.kinds.map(() => 'sent'))
    judgeEnds(seen)
    if (Math.min(...seen.excessMs) >= agreeWithinMs && seen.calmestMs > calmGapMs)
      context.skip(`this machine was too busy to tell (${Math.round(seen.calmestMs)} ms late)`)
    expect(Math.min(...seen.excessMs)).toBeLessThan(agreeWithinMs)
  }

/** Never off before the last sample. */
function judgeEnds({ excessMs }: Keyings): void {
  for (const ms of excessMs) expect(ms).toBeGreaterThan(-1)
}

async function closeBench(): Promise<void> {
  await bench?.close()
  bench = undefined
}

describe.skipIf(!hasAlsaTools)('a whole radio with real arecord and aplay (alsa-utils)', () => {
  it('question in, answers out', whileOthersWork, async () => {
    bench = liveBench(audioWith(2500, rateHz, [{ atMs: 600, octets: frame('QQ2AB-7', 'hello') }]))
    const radio = bench.radio()
    radio.port.onFrame(() => {
      for (const text of ['acknowledged', 'first answer', 'second answer'])
        radio.port.send(request(text, frame(ownCall, text)))
    })
    await waitFor(outcomeOf(radio, 'second answer'))
    expect(radio.heard).toHaveLength(1)
    expect(decode(bench.played(), rateHz)).toEqual([
      'QQ1RP-10>APZ000:acknowledged',
      'QQ1RP-10>APZ000:first answer',
      'QQ1RP-10>APZ000:second answer',
    ])
    // What the node is told is what the line did.
    const lineMs = keyedSpans(bench.logFile).reduce((sum, { lengthMs }) => sum + lengthMs, 0)
    const toldMs = radio.outcomes.reduce(
      (sum, outcome) => sum + (outcome.kind === 'sent' ? outcome.airtimeMs : 0),
      0,
    )
    expect(Math.abs(toldMs - lineMs)).toBeLessThan(1)
  })

  it('the key line is on as long as the audio lasts', (context) =>
    judgedUnlessStarved(context, severalKeyings, judgeSpans(context), closeBench, judgeEnds))

  it(
    'a stall of the main thread of 2 s loses no sample and moves no edge',
    whileOthersWork,
    async () => {
      const texts = Array.from({ length: 9 }, (_, index) => `frame ${index}`)
      const spacingMs = 700
      bench = liveBench(
        audioWith(
          800 + texts.length * spacingMs,
          rateHz,
          texts.map((text, index) => ({
            atMs: 500 + index * spacingMs,
            octets: frame('QQ2AB', text),
          })),
        ),
        // It sends while the others come in, so that both are under way during the stall.
        { fullDuplex: true },
      )
      const radio = bench.radio()
      await waitFor(() => radio.heard.length >= 2 || undefined)
      const octets = frame(ownCall, 'x'.repeat(120))
      radio.port.send(request('long', octets))
      await waitFor(() => radio.events.find(({ kind }) => kind === 'keyed'))
      const stallFromMs = clock.monotonicMs()
      Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 2000)
      const stallToMs = clock.monotonicMs()
      expect(radio.outcomes.filter(({ kind }) => kind === 'sent')).toEqual([])
      await waitFor(outcomeOf(radio, 'long'))
      await waitFor(() => radio.heard.length === texts.length || undefined)

      const [span] = keyedSpans(bench.logFile)
      expect(span!.fromMs).toBeLessThan(stallFromMs)
      // An edge that waited for the main thread would come after the stall.
      expect(span!.fromMs + span!.lengthMs).toBeLessThan(stallToMs - 100)
      expect(span!.lengthMs).toBeGreaterThan(airtimeMs(octets) - 1)
      // Heard during the stall, stamped when they came: by the count of samples, as far apart as they were sent.
      const times = radio.heard.map(({ heardAtMs }) => heardAtMs)
      for (const [index, atMs] of times.entries())
        expect(Math.abs(atMs - times[0]! - index * spacingMs)).toBeLessThan(150)
    },
  )

  it('sends nothing while the hold file exists', async () => {
    bench = liveBench(new Float32Array(rateHz / 2))
    writeFileSync(bench.setup.holdFile, '')
    const radio = bench.radio()
    radio.port.send(request('a', frame(ownCall, 'held')))
    const held = await waitFor(() => radio.outcomes.find(({ kind }) => kind === 'held'))
    expect(held).toMatchObject({ id: 'a' })
    await waitFor(() =>
      radio.port.state().transmitBlockedBy?.includes('hold exists') ? true : undefined,
    )
    rmSync(bench.setup.holdFile)
    expect(await waitFor(outcomeOf(radio, 'a'))).toMatchObject({ kind: 'sent' })
  })

  it('a thread that dies while keyed is unkeyed, told, and replaced', whileOthersWork, async () => {
    bench = liveBench(new Float32Array(rateHz / 2))
    const file = fileURLToPath(new URL('crashingWorker.mjs', import.meta.url))
    const radio = bench.radio(file)
    radio.port.send(request('a', frame(ownCall, 'x'.repeat(250))))
    await waitFor(() => radio.events.find(({ kind }) => kind === 'keyed'))
    const crashedMs = clock.monotonicMs()
    radio.port.release('crash')
    const outcome = await waitFor(outcomeOf(radio, 'a'))
    expect(outcome).toMatchObject({
      kind: 'refused',
      reason: "the radio's thread ended: a fault on purpose",
    })
    const { logFile } = bench
    const off = await waitFor(() => edgesIn(logFile).filter(({ edge }) => edge === 'unkeyed')[1])
    expect(off.note).toBe('its owner is gone')
    expect(off.monotonicMs - crashedMs).toBeLessThan(unkeyedWithinMs)
    // The new thread works, and knows what the old one owed: an identification.
    radio.port.send(request('b', frame(ownCall, 'again')))
    await waitFor(outcomeOf(radio, 'b'))
    await waitFor(() => radio.events.find(({ kind }) => kind === 'recovered'))
  })

  it(
    'a thread that hangs while keyed is cut, and keys again only once the main thread says so',
    whileOthersWork,
    async () => {
      bench = liveBench(new Float32Array(rateHz / 2))
      const { logFile } = bench
      const radio = bench.radio(fileURLToPath(new URL('hangingWorker.mjs', import.meta.url)))
      radio.port.send(request('a', frame(ownCall, 'x'.repeat(250))))
      await waitFor(() => radio.events.find(({ kind }) => kind === 'keyed'))
      radio.port.send(request('b', frame(ownCall, 'next')))
      radio.port.release('hang')
      await waitFor(() => edgesIn(logFile).filter(({ edge }) => edge === 'unkeyed')[1])
      // The thread is awake long before this one, which has not said anything meanwhile.
      Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 3000)
      const edges = edgesIn(logFile)
      expect(edges.map(({ edge }) => edge)).toEqual(['unkeyed', 'keyed', 'unkeyed'])
      expect(edges[2]!.note).toBe('no sign of life for 200 ms')
      expect(await waitFor(outcomeOf(radio, 'a'))).toMatchObject({ kind: 'refused' })
      expect(await waitFor(outcomeOf(radio, 'b'))).toMatchObject({ kind: 'sent' })
      const course = radio.events
        .map(({ kind }) => kind)
        .filter((kind) => ['keyed', 'cut', 'hold', 'release'].includes(kind))
      expect(course).toEqual([
        ...['hold', 'hold', 'release', 'release'], // the devices, at the start
        ...['keyed', 'cut', 'hold', 'release', 'keyed'],
      ])
    },
  )

  it.each(['SIGKILL', 'SIGSTOP'] as const)(
    '%s of the whole process while keyed',
    async (signal) => {
      bench = liveBench(new Float32Array(rateHz / 2))
      child = spawn(
        process.execPath,
        [
          fileURLToPath(new URL('radioHost.mjs', import.meta.url)),
          JSON.stringify(bench.setup),
          Buffer.from(frame(ownCall, 'x'.repeat(250))).toString('hex'),
        ],
        { env: { ...process.env, ...bench.home.env } },
      )
      const { logFile } = bench
      await waitFor(() => edgesIn(logFile).find(({ edge }) => edge === 'keyed'))
      const signalledMs = clock.monotonicMs()
      child.kill(signal)
      const off = await waitFor(() => edgesIn(logFile).filter(({ edge }) => edge === 'unkeyed')[1])
      expect(off.note).toBe(
        signal === 'SIGKILL' ? 'its owner is gone' : 'no sign of life for 200 ms',
      )
      expect(off.monotonicMs - signalledMs).toBeLessThan(unkeyedWithinMs)
    },
  )
})
