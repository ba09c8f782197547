import type { Clock } from '../../runtime/clock.js'
import { errorText } from '../../runtime/errorText.js'
import { standardWordings } from '../../words/air/all.js'
import { splitAnswer } from '../splitAnswer.js'
import { figuresOf } from './ownFigures.js'
import type { OwnContextData, OwnManifest, OwnReadiness } from './ownProtocol.js'
import { type OwnTable, settingsOf } from './ownSettings.js'
import { openOwnThread } from './ownThread.js'

export interface TrialOptions {
  readonly file: string
  readonly clock: Clock
  readonly timeLimitMs: number
  readonly memoryMb: number
  /** the operator's, by keyword */
  readonly settings: Readonly<Record<string, OwnTable>>
  readonly taken: readonly string[]
  readonly threadEntry?: URL | undefined
}

export interface Tried {
  readonly question: string
  readonly messages: readonly string[]
  readonly failed: boolean
}

export type Trial =
  | {
      readonly ok: true
      readonly manifest: OwnManifest
      /** undefined where it does not say */
      readonly readiness: OwnReadiness | undefined
      readonly tried: readonly Tried[]
    }
  | { readonly ok: false; readonly reason: string }

/** Loads a service in a thread of its own and asks it as in a rehearsal: by its keyword alone, and with the words of its usage. */
export async function trialOf(options: TrialOptions): Promise<Trial> {
  const { file, clock, timeLimitMs, memoryMb, threadEntry, taken } = options
  try {
    const thread = await openOwnThread({
      ...{ file, clock, timeLimitMs, memoryMb, entry: threadEntry, onOutput: () => {} },
    })
    try {
      const { manifest } = thread
      const { keyword, usage, messagesMax } = manifest
      if (taken.includes(keyword)) throw new Error(`its keyword "${keyword}" is the node's own`)
      const { settings } = settingsOf(manifest.settings, options.settings[keyword] ?? {})
      const now = { nowWallMs: clock.wallMs(), settings }
      const readiness = manifest.saysReady ? await thread.ready(now) : undefined
      const context: OwnContextData = {
        ...emptyContext(now.nowWallMs),
        ...{ settings, figures: figuresOf(standardWordings.of(manifest.language)) },
      }
      const example = usage
        .replace(keyword, '')
        .replace(/[^\p{L}\p{N}: -]/gu, '')
        .trim()
      const tried: Tried[] = []
      for (const rest of new Set(['', example])) {
        const question = `${keyword} ${rest}`.trim()
        const words = rest === '' ? [] : rest.toLowerCase().split(/\s+/)
        const asked = { id: 'trial', from: 'N0CALL-7', text: question, words, rest }
        try {
          const answered = await thread.ask({ kind: 'question', question: asked }, context)
          const max = answered.messagesMax ?? messagesMax
          const messages = splitAnswer(answered.answer, { messagesMax: max })
          tried.push({ question, messages, failed: false })
        } catch (error) {
          tried.push({ question, messages: [`failed: ${errorText(error)}`], failed: true })
        }
      }
      return { ok: true, manifest, readiness, tried }
    } finally {
      await thread.close()
    }
  } catch (error) {
    return { ok: false, reason: errorText(error) }
  }
}

/** A node in an invented place that has heard nothing. */
const emptyContext = (nowWallMs: number): Omit<OwnContextData, 'settings' | 'figures'> => ({
  ...{ nowWallMs, askerPosition: undefined, stations: [], weather: [], notices: [] },
  node: {
    ...{ call: 'N0CALL-10', position: undefined, positionSource: 'unknown', timeSource: 'system' },
    ...{ utcOffsetMinutes: 0, units: 'km', heightM: 0 },
  },
  ...{ rehearsal: true, stored: {} },
})
