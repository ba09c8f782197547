// How soon the receiver calls the channel busy after a transmission begins, and free after it ends, over graded recordings.
// The recordings say where frames begin, not where transmissions do: how much preamble and tail there is around a frame is read
// off the power of the strongest frame, and is the same for all of one recording.
import { join } from 'node:path'
import { createBandPass } from '../../dsp/modem/frontEnd/bandPass.js'
import { createFrontEnd, workingRateHz } from '../../dsp/modem/frontEnd/frontEnd.js'
import type { ReceivedFrame } from '../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { openWav } from '../../src/audio/wavReader.js'
import type { Bench } from './bench.js'
import { namesIn, readTruth } from './graded.js'
import { table } from './receiveFile.js'

/** Frames below this are not promised anything. */
const ebN0DbMin = 10

interface Edge {
  readonly atMs: number
  readonly busy: boolean
}

interface Recording {
  readonly frames: readonly ReceivedFrame[]
  readonly edges: readonly Edge[]
  /** power of the detectors' band, a value a millisecond */
  readonly powers: readonly number[]
  readonly rateHz: number
}

export const bench: Bench = {
  name: 'carrier-detect',
  about: 'how soon the channel is called busy and free, over graded recordings (--ladders FOLDER)',
  async run({ ladders }) {
    if (ladders === undefined) {
      console.log('skipped: give a folder of graded recordings with --ladders FOLDER')
      return
    }
    const rows = namesIn(ladders)
      .map((name) => rowOf(ladders, name))
      .filter((row) => row !== undefined)
    console.log(
      `transmissions of one frame at ${ebN0DbMin} dB Eb/N0 or more; ms after their beginning and end\n`,
    )
    console.log(
      table([['condition', 'count', 'busy: median', '90 %', 'free: median', '90 %'], ...rows]),
    )
  },
}

/** undefined where the recording gives no Eb/N0, or where frames share a transmission. */
function rowOf(folder: string, name: string): (string | number)[] | undefined {
  const loud = readTruth(folder, name).filter(({ ebn0_db }) => (ebn0_db ?? -99) >= ebN0DbMin)
  const recording = listen(join(folder, `${name}.wav`))
  const heard = loud
    .map(({ hex }) =>
      recording.frames.find((one) => Buffer.from(one.octets).toString('hex') === hex),
    )
    .filter((frame) => frame !== undefined)
    .filter((frame) => isAlone(frame, recording))
  const strongest = heard[0]
  if (strongest === undefined) return undefined
  const around = extent(recording, strongest)
  const [busy, free]: [number[], number[]] = [[], []]
  for (const frame of heard) {
    const beganMs = (frame.firstSample / recording.rateHz) * 1000 - around.beforeMs
    const endedMs = (frame.lastSample / recording.rateHz) * 1000 + around.afterMs
    const on = recording.edges.find((edge) => edge.busy && edge.atMs > beganMs - 20)
    const off = recording.edges.find((edge) => !edge.busy && edge.atMs > endedMs - 20)
    if (on !== undefined) busy.push(on.atMs - beganMs)
    if (off !== undefined) free.push(off.atMs - endedMs)
  }
  const share = (values: number[], at: number): string =>
    values.toSorted((a, b) => a - b)[Math.floor(at * (values.length - 1))]!.toFixed(0)
  return [
    name,
    heard.length,
    share(busy, 0.5),
    share(busy, 0.9),
    share(free, 0.5),
    share(free, 0.9),
  ]
}

/** No other frame within a tenth of a second: a transmission of its own. */
function isAlone(frame: ReceivedFrame, { frames, rateHz }: Recording): boolean {
  const gap = rateHz / 10
  return frames.every(
    (other) =>
      other === frame ||
      other.lastSample < frame.firstSample - gap ||
      other.firstSample > frame.lastSample + gap,
  )
}

function listen(file: string): Recording {
  const wav = openWav(file)
  const rateHz = wav.sampleRateHz
  const receiver = createReceiver({ sampleRateHz: rateHz, repair: 'careful' })
  const frontEnd = createFrontEnd(rateHz)
  const frames: ReceivedFrame[] = []
  const edges: Edge[] = []
  const bandPass = createBandPass()
  const narrow: number[] = []
  let samples = 0
  for (let block = wav.read(Math.round(rateHz / 1000)); block !== undefined; ) {
    const audio = block[0]!
    frames.push(...receiver.push(audio))
    narrow.push(...bandPass.process(frontEnd.process(audio)))
    samples += audio.length
    const busy = receiver.channelBusy
    if (busy !== (edges.at(-1)?.busy ?? false))
      edges.push({ atMs: (samples / rateHz) * 1000, busy })
    block = wav.read(Math.round(rateHz / 1000))
  }
  wav.close()
  const perMs = workingRateHz / 1000
  const powers = Array.from({ length: Math.floor(narrow.length / perMs) }, (_, ms) =>
    narrow.slice(ms * perMs, (ms + 1) * perMs).reduce((sum, one) => sum + one * one, 0),
  )
  return { frames, edges, powers, rateHz }
}

/** How far the signal reaches beyond a frame: to where its power falls below a quarter for three milliseconds. */
function extent(recording: Recording, frame: ReceivedFrame): { beforeMs: number; afterMs: number } {
  const { powers, rateHz } = recording
  const first = Math.round((frame.firstSample / rateHz) * 1000)
  const last = Math.round((frame.lastSample / rateHz) * 1000)
  const inside = powers.slice(first, last)
  const limit = inside.reduce((sum, one) => sum + one, 0) / inside.length / 4
  const isQuiet = (ms: number): boolean =>
    [ms - 1, ms, ms + 1].every((at) => (powers[at] ?? 0) < limit)
  let [from, to] = [first, last]
  while (from > 0 && !isQuiet(from)) from--
  while (to < powers.length && !isQuiet(to)) to++
  return { beforeMs: first - from - 2, afterMs: to - last - 2 }
}
