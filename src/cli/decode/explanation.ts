// What `decode --explain` says besides the frames: each signal that was lost and why, and a summary of each channel.
import type { CauseKind } from '../../../dsp/causes/causes.js'
import { causeTexts } from '../../../dsp/causes/causeWords.js'
import type { LostFrame } from '../../../dsp/causes/lossWatch.js'
import type { SoundSums } from '../../../dsp/measure/soundTally.js'

/** A lost frame and where it was. */
export interface FoundLoss {
  readonly file: string
  readonly channel: number
  readonly sampleRateHz: number
  readonly lost: LostFrame
}

/** One channel of a recording, when it is read. */
export interface ChannelSummary {
  readonly file: string
  readonly channel: number
  readonly readCount: number
  readonly repairedCount: number
  readonly losses: readonly LostFrame[]
  readonly sound: SoundSums
}

/** What was lost, for how long, and what it was like: 'LOST, 0.62 s: 2200 Hz tone 18 dB low: …; 12 flags, rate +40 ppm'. */
export function lossText({ lost, sampleRateHz }: FoundLoss): string {
  const seconds = (lost.lastSample - lost.firstSample) / sampleRateHz
  const ppm = Math.round(lost.symbolRateErrorPpm)
  const flags = lost.preambleFlags
  const figures = [
    flags === 0 ? 'no flags before it' : `${flags} ${flags === 1 ? 'flag' : 'flags'} before it`,
    `symbol rate ${ppm < 0 ? '' : '+'}${ppm} ppm`,
  ]
  return `LOST, ${seconds.toFixed(2)} s: ${causeTexts(lost.causes).join('; ')} (${figures.join(', ')})`
}

/** A word or two for each kind, for counting them. */
const kindWords: Record<CauseKind, string> = {
  noise: 'noise',
  '2200 Hz low': '2200 Hz tone low',
  '2200 Hz high': '2200 Hz tone high',
  '4 kHz low': '4 kHz low',
  '4 kHz high': '4 kHz high',
  'noise at 9600': 'band flat',
  clipping: 'clipping',
  hum: 'hum',
  'sub-audible tone': 'sub-audible tone',
  echo: 'echo',
  clicks: 'clicks',
  slip: 'lost samples',
  'off-tune': 'off tune',
  'short preamble': 'beginning missing',
  collision: 'collision',
}

/** The causes of all that was lost, the most frequent first: [['noise', 3], ['clipping', 1]]. */
export function causeCounts(losses: readonly LostFrame[]): [string, number][] {
  const counts = new Map<string, number>()
  for (const { causes } of losses)
    for (const word of causes.length === 0
      ? ['no trouble found']
      : causes.map(({ kind }) => kindWords[kind]))
      counts.set(word, (counts.get(word) ?? 0) + 1)
  return [...counts].toSorted((a, b) => b[1] - a[1])
}

/** '12 read (3 repaired), 4 lost: noise 3, clipping 1; silence 2 s, hiss at -20 dBFS 8 s, other sound 5 s' */
export function summaryLine(summary: ChannelSummary): string {
  const { readCount, repairedCount, losses, sound } = summary
  const read = `${readCount} read${repairedCount === 0 ? '' : ` (${repairedCount} repaired)`}`
  const counts = causeCounts(losses).map(([word, count]) => `${word} ${count}`)
  const lost = losses.length === 0 ? 'none lost' : `${losses.length} lost: ${counts.join(', ')}`
  return `${read}, ${lost}; ${soundText(sound)}`
}

function soundText({ silenceS, hissS, hissDbfs, otherS }: SoundSums): string {
  if (silenceS + hissS + otherS === 0) return 'less than half a second of audio'
  if (hissS + otherS === 0) return 'silence all the time: nothing came from the radio'
  const hiss = hissDbfs === undefined ? '' : `hiss at ${hissDbfs.toFixed(0)} dBFS`
  if (silenceS + otherS === 0) return `${hiss} all the time: an open squelch, and no signal`
  return [
    ...(silenceS > 0 ? [`silence ${seconds(silenceS)}`] : []),
    ...(hissS > 0 ? [`${hiss} ${seconds(hissS)}`] : []),
    ...(otherS > 0 ? [`signals or other sound ${seconds(otherS)}`] : []),
  ].join(', ')
}

const seconds = (s: number): string => `${s.toFixed(1)} s`
