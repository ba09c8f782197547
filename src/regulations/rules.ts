import { bandOf } from './amateurBands.js'
import { usualFrequencies } from './usualFrequencies.js'

/** What the rules have to say to a radio's settings. Sections are of the United States; other countries differ. */
export interface RuleNote {
  /** where it is written: '47 CFR 97.119(a)', 'common practice' */
  readonly rule: string
  readonly text: string
  /** false: a plain contradiction to the rule; true: something that only the licensee can judge */
  readonly toJudge: boolean
}

/** The settings of one radio that the rules look at. */
export interface RulePlan {
  readonly frequencyMHz: number | undefined
  readonly bitRate: 1200 | 9600
  /** transmitter's output, W */
  readonly powerW: number | undefined
  readonly identificationMinutes: number
  readonly morseWordsPerMinute: number | undefined
}

/** Bandwidth of an FM signal by Carson's rule, kHz: 2 (deviation + highest tone). */
export const carsonBandwidthKHz = (deviationKHz: number, toneKHz: number): number =>
  2 * (deviationKHz + toneKHz)

interface Emission {
  readonly name: string
  readonly baud: number
  readonly bandwidthKHz: number
}

/**
 * What this program sends, by bit rate. Peak deviation at 1200 bit/s: 3.5 kHz, to which radios' data ports are set (common practice,
 * no source), with 2.2 kHz as the highest tone. At 9600 bit/s 3 kHz (J. Miller, 9600 Baud Packet Radio Modem Design, 1988), with
 * half of the bit rate as the highest: 15.6 kHz.
 */
export const emissions: Readonly<Record<1200 | 9600, Emission>> = {
  1200: { name: 'AFSK', baud: 1200, bandwidthKHz: carsonBandwidthKHz(3.5, 2.2) },
  9600: { name: 'FSK (G3RUH)', baud: 9600, bandwidthKHz: carsonBandwidthKHz(3, 4.8) },
}

/** 97.119(a): the call sign goes out at least this often during a communication, minutes. */
export const identificationMinutesMax = 10
/** 97.119(b)(1): fastest Morse of an automatic device used only for identification. */
export const morseWordsPerMinuteMax = 20
/** 97.313(b), W PEP. */
const powerWMax = 1500

/** 97.221(b): below 6 m data may be automatically controlled in these segments only, MHz. */
const automaticSegments: readonly (readonly [number, number])[] = [
  [28.12, 28.189],
  [24.925, 24.93],
  [21.09, 21.1],
  [18.105, 18.11],
  [14.095, 14.0995],
  [14.1005, 14.112],
  [10.14, 10.15],
  [7.1, 7.105],
  [3.585, 3.6],
]

/** Whether 97.221(b) lets a data station run unattended on a frequency. */
export const automaticControlAllowed = (frequencyMHz: number): boolean =>
  frequencyMHz >= 50 ||
  automaticSegments.some(([from, to]) => frequencyMHz >= from && frequencyMHz <= to)

/**
 * Limits on data of 97.307(f); undefined where none is known here. The text of 1.25 m, and that 300 baud below 28 MHz
 * gave way to 2.8 kHz in 2023, are from memory.
 */
export function emissionLimits(
  frequencyMHz: number,
):
  | { readonly rule: string; readonly baudMax?: number; readonly bandwidthKHzMax?: number }
  | undefined {
  if (frequencyMHz < 28) return { rule: '47 CFR 97.307(f)(3)', bandwidthKHzMax: 2.8 }
  if (frequencyMHz <= 29.7) return { rule: '47 CFR 97.307(f)(4)', baudMax: 1200 }
  if (frequencyMHz >= 50 && frequencyMHz <= 148)
    return { rule: '47 CFR 97.307(f)(5)', baudMax: 19_600, bandwidthKHzMax: 20 }
  if (frequencyMHz >= 219 && frequencyMHz <= 450)
    return { rule: '47 CFR 97.307(f)(6)', baudMax: 56_000, bandwidthKHzMax: 100 }
  return undefined
}

/** Everything that the rules have to say, hard contradictions first. */
export function ruleNotes(plan: RulePlan): RuleNote[] {
  const notes = [...identificationNotes(plan), ...powerNotes(plan)]
  if (plan.frequencyMHz !== undefined)
    notes.push(...frequencyNotes(plan.frequencyMHz, emissions[plan.bitRate]))
  return notes.sort((a, b) => Number(a.toJudge) - Number(b.toJudge))
}

function frequencyNotes(frequencyMHz: number, emission: Emission): RuleNote[] {
  const band = bandOf(frequencyMHz)
  if (band === undefined)
    return [
      judge(
        '47 CFR 97.301',
        `${frequencyMHz} MHz lies in no amateur band that is known here: look at your licence`,
      ),
    ]
  const notes: RuleNote[] = []
  const [from, to] = band.everywhereMHz ?? [Infinity, Infinity]
  if (band.note !== undefined && !(frequencyMHz >= from && frequencyMHz <= to))
    notes.push(judge('band plan (from memory)', `${band.name} ${band.note}: look at your licence`))
  for (const [from, to] of [
    [144, 144.1],
    [50, 50.1],
  ] as const)
    if (frequencyMHz >= from && frequencyMHz < to)
      notes.push(broken('47 CFR 97.305(c)', `data may be sent from ${to} MHz up, not below`))
  if (!automaticControlAllowed(frequencyMHz))
    notes.push(
      broken(
        '47 CFR 97.221(b), (c)',
        `below 50 MHz unattended data stations keep to listed segments, and elsewhere to 500 Hz of bandwidth; this is ${emission.bandwidthKHz.toFixed(1)} kHz on ${frequencyMHz} MHz: somebody must be at the control point`,
      ),
    )
  notes.push(...emissionNotes(frequencyMHz, emission), ...usualNotes(frequencyMHz))
  return notes
}

function emissionNotes(frequencyMHz: number, { name, baud, bandwidthKHz }: Emission): RuleNote[] {
  const limits = emissionLimits(frequencyMHz)
  if (limits === undefined) return []
  const notes: RuleNote[] = []
  if (limits.baudMax !== undefined && baud > limits.baudMax)
    notes.push(broken(limits.rule, `${baud} baud; at most ${limits.baudMax}`))
  if (limits.bandwidthKHzMax !== undefined && bandwidthKHz > limits.bandwidthKHzMax)
    notes.push(
      broken(
        limits.rule,
        `${name} on FM takes ${bandwidthKHz.toFixed(1)} kHz; at most ${limits.bandwidthKHzMax} kHz`,
      ),
    )
  return notes
}

/** 10 kHz apart is another channel. */
const sameChannelMHz = 0.005

function usualNotes(frequencyMHz: number): RuleNote[] {
  const usual = usualFrequencies.find(
    (one) => Math.abs(one.frequencyMHz - frequencyMHz) < sameChannelMHz,
  )
  if (usual === undefined) return []
  return [
    judge(
      'common practice',
      `${frequencyMHz} MHz is the shared APRS-format frequency of ${usual.where}: many listen, so answer little, short and direct`,
    ),
  ]
}

function identificationNotes(plan: RulePlan): RuleNote[] {
  const notes: RuleNote[] = []
  if (plan.identificationMinutes > identificationMinutesMax)
    notes.push(
      broken(
        '47 CFR 97.119(a)',
        `identification every ${plan.identificationMinutes} min; at least every ${identificationMinutesMax} min`,
      ),
    )
  const words = plan.morseWordsPerMinute
  if (words !== undefined && words > morseWordsPerMinuteMax)
    notes.push(
      broken(
        '47 CFR 97.119(b)(1)',
        `Morse at ${words} words a minute; at most ${morseWordsPerMinuteMax}`,
      ),
    )
  return notes
}

function powerNotes({ powerW, frequencyMHz }: RulePlan): RuleNote[] {
  if (powerW === undefined) return []
  const notes: RuleNote[] = []
  if (powerW > powerWMax)
    notes.push(broken('47 CFR 97.313(b)', `${powerW} W; at most ${powerWMax} W PEP`))
  if (frequencyMHz === undefined) return notes
  if (frequencyMHz >= 10.1 && frequencyMHz <= 10.15 && powerW > 200)
    notes.push(broken('47 CFR 97.313(c)', `${powerW} W on 30 m; at most 200 W PEP`))
  if (frequencyMHz >= 420 && frequencyMHz <= 450 && powerW > 50)
    notes.push(
      judge('47 CFR 97.313', `${powerW} W on 70 cm: near listed military areas at most 50 W PEP`),
    )
  return notes
}

const broken = (rule: string, text: string): RuleNote => ({ rule, text, toJudge: false })
const judge = (rule: string, text: string): RuleNote => ({ rule, text, toJudge: true })
