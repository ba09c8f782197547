import { micESign } from '../node/emergency.js'
import type { EmergencyReport } from '../node/emergencyMarks.js'
import { runCommand } from '../ptt/childCommand.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { harmlessText } from '../runtime/harmlessText.js'
import { agoWords } from '../services/geo/words.js'
import { inEnglish } from '../words/air/all.js'
import type { Wording } from '../words/air/wording.js'

export interface EmergencyCommandOptions {
  readonly clock: Clock
  /** the program and its first words */
  readonly command: readonly string[]
  readonly onFault: (text: string) => void
}

/** A program that sends a text message or rings a bell is done by then. */
const timeLimitMs = 30_000
/** Between the end of one and the begin of the next. */
const gapMs = 5_000
const waitingMax = 20

export interface EmergencyCommand {
  tell(report: EmergencyReport): void
  /** What waits is not told any more. */
  close(): void
}

/**
 * Tells the operator of calls for help by a program of his own: one at a time, never through a shell. Its last words are
 * 'emergency' or 'exercise', the call sign, and a sentence that begins with it, so that what strangers write is never an
 * option of the program's.
 */
export function emergencyCommand(options: EmergencyCommandOptions): EmergencyCommand {
  const { clock, command, onFault } = options
  let waiting: EmergencyReport[] = []
  let isRunning = false
  let cancelNext: Cancel | undefined
  let notBeforeMs = Number.NEGATIVE_INFINITY

  const run = async (report: EmergencyReport): Promise<void> => {
    const { station, exercise } = report
    const words = [...command, exercise ? 'exercise' : 'emergency', station, describeReport(report)]
    const status = await runCommand(words, clock, timeLimitMs).then(
      (ended) => ended.status,
      (error: unknown) => errorText(error),
    )
    if (status !== 'status 0')
      onFault(`emergency.command: ${command.join(' ')}: ${status}; ${station} called for help`)
  }

  const runNext = (): void => {
    const nowMs = clock.monotonicMs()
    if (isRunning || cancelNext !== undefined || waiting.length === 0) return
    if (nowMs < notBeforeMs) {
      cancelNext = clock.at(notBeforeMs, () => {
        cancelNext = undefined
        runNext()
      })
      return
    }
    isRunning = true
    void run(waiting.shift()!).finally(() => {
      isRunning = false
      notBeforeMs = clock.monotonicMs() + gapMs
      runNext()
    })
  }

  return {
    tell(report) {
      if (waiting.length >= waitingMax) {
        // An exercise makes room, or else what waits longest.
        const exerciseAt = waiting.findIndex(({ exercise }) => exercise)
        const [dropped] = waiting.splice(Math.max(0, exerciseAt), 1)
        onFault(`emergency.command: too many calls for help: not told of ${dropped?.station}`)
      }
      const isReal = (one: EmergencyReport): boolean => !one.exercise
      const all = [...waiting, report]
      waiting = [...all.filter(isReal), ...all.filter((one) => one.exercise)]
      runNext()
    },
    close() {
      waiting = []
      cancelNext?.()
    },
  }
}

/** 'Q1ABC-7: SOS: leg broken; at 45.20000, -36.70000, 12min ago' */
export function describeReport(report: EmergencyReport, wording = inEnglish): string {
  const { station: call, position } = report
  const { say } = wording
  const text = saidIn(report, wording)
  if (position === undefined) return harmlessText(say('helpNowhere', { call, text }))
  const { latitudeDeg, longitudeDeg, ageMs } = position
  const place = `${latitudeDeg.toFixed(5)}, ${longitudeDeg.toFixed(5)}`
  const isNew = Math.round(ageMs / 60_000) < 1
  return harmlessText(
    isNew
      ? say('helpAt', { call, text, place })
      : say('helpAtAgo', { call, text, place, ago: agoWords(ageMs, wording) }),
  )
}

/** By what it was known as a call for help, and what was said besides. */
function saidIn({ sign: given, text }: EmergencyReport, { say }: Wording): string {
  const sign = given === micESign ? say('helpMicE') : given
  return text === '' || text.toLowerCase() === given.toLowerCase() ? sign : `${sign}: ${text}`
}
