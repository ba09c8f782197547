import { goodLevelDbfs } from '../../radio/packetAdvice.js'
import type { LevelsReading } from './levelsView.js'

/** One of the tones that are heard after each other. */
export interface AudibleTone {
  readonly hz: number
  readonly durationMs: number
}

/** An octave is so much of a level, dB: what a step of the mixer makes is heard. */
const levelDbPerOctave = 12
/** A missing de-emphasis makes about an octave. */
const balanceDbPerOctave = 6
/** The right level, and balanced tones, have these pitches. */
const levelReferenceHz = 600
const balanceReferenceHz = 900
const lowestHz = 100
const highestHz = 3_600
const clippedShareMax = 0.002

const reference = (hz: number): AudibleTone => ({ hz, durationMs: 120 })
const measured = (hz: number): AudibleTone => ({
  hz: Math.min(highestHz, Math.max(lowestHz, hz)),
  durationMs: 280,
})

/**
 * First a short tone for what is aimed at, then a longer one: higher is too loud, lower too faint. After a packet the same of its
 * tones, higher up: higher is a space tone that is too strong. Clipping adds three very short high tones.
 * @param isNew a packet was heard since the last time
 */
export function tonesOf(
  { levels, lastFrame }: Pick<LevelsReading, 'levels' | 'lastFrame'>,
  isNew: boolean,
): AudibleTone[] {
  const quality = isNew ? lastFrame?.frame.quality : undefined
  const levelDbfs = quality?.levelDbfs ?? levels.rmsDbfs
  const levelHz = levelReferenceHz * 2 ** ((levelDbfs - goodLevelDbfs.aim) / levelDbPerOctave)
  const isClipped = (quality?.clippedShare ?? levels.clippedShare) > clippedShareMax
  return [
    ...[reference(levelReferenceHz), measured(levelHz)],
    ...(quality === undefined
      ? []
      : [
          reference(balanceReferenceHz),
          measured(balanceReferenceHz * 2 ** (quality.toneBalanceDb / balanceDbPerOctave)),
        ]),
    ...(isClipped ? Array<AudibleTone>(3).fill({ hz: 3_000, durationMs: 40 }) : []),
  ]
}

const pauseMs = 60
/** Without it each tone would begin and end with a click. */
const rampMs = 8
const peak = 0.2

/** Tones with a pause after each, mono, full scale ±1. */
export function audioOf(tones: readonly AudibleTone[], sampleRateHz: number): Float32Array {
  const count = (ms: number): number => Math.round((ms * sampleRateHz) / 1000)
  const total = tones.reduce((sum, { durationMs }) => sum + count(durationMs) + count(pauseMs), 0)
  const samples = new Float32Array(total)
  const ramp = count(rampMs)
  let at = 0
  for (const { hz, durationMs } of tones) {
    const length = count(durationMs)
    for (let index = 0; index < length; index++) {
      const edge = Math.min(1, index / ramp, (length - 1 - index) / ramp)
      samples[at + index] = peak * edge * Math.sin((2 * Math.PI * hz * index) / sampleRateHz)
    }
    at += length + count(pauseMs)
  }
  return samples
}
