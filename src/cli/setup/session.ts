import type { AlsaDevice } from '../../audio/alsaDevices.js'
import type { HangSearch } from '../tone/hangSearch.js'

/** What the person has answered so far; what is absent is not written. */
export interface Answers {
  readonly call?: string | undefined
  readonly controlOperator?: string | undefined
  readonly latitudeDeg?: number | undefined
  readonly longitudeDeg?: number | undefined
  readonly timeZone?: string | undefined
  /** how the radio is joined to this machine */
  readonly joined?: 'card' | 'serial-modem' | 'tcp-modem' | undefined
  readonly input?: string | undefined
  readonly output?: string | undefined
  readonly modemDevice?: string | undefined
  readonly modemBitRate?: number | undefined
  readonly modemHost?: string | undefined
  readonly modemPort?: number | undefined
  readonly keying?: 'rts' | 'dtr' | 'gpio' | 'hid' | 'command' | 'vox' | 'none' | undefined
  readonly keyDevice?: string | undefined
  /** number of a GPIO line, or of the pin of a USB audio chip */
  readonly keyLine?: number | undefined
  readonly activeLow?: boolean | undefined
  readonly keyCommand?: readonly string[] | undefined
  readonly unkeyCommand?: readonly string[] | undefined
  readonly frequencyMHz?: number | undefined
  readonly powerW?: number | undefined
  readonly antennaGainDbi?: number | undefined
  readonly antennaHeightM?: number | undefined
  readonly antennaSizeM?: number | undefined
  readonly enabled?: boolean | undefined
  readonly keyDelayMs?: number | undefined
  readonly hangMs?: number | undefined
  /** digipeaters asked to repeat the position; undefined: it sends none by itself */
  readonly beaconPath?: readonly string[] | undefined
  readonly repeaters?: string | undefined
  readonly places?: string | undefined
  readonly satellites?: string | undefined
  readonly cards?: string | undefined
}

/** Something that is plugged in, and what it calls itself. */
export interface FoundDevice {
  readonly device: string
  readonly about: string
}

/** What this machine has. */
export interface Found {
  readonly inputs: readonly AlsaDevice[]
  readonly outputs: readonly AlsaDevice[]
  readonly serialLines: readonly FoundDevice[]
  readonly gpioChips: readonly FoundDevice[]
  readonly hids: readonly FoundDevice[]
  /** what could not be looked for, and why */
  readonly problems: readonly string[]
}

/** What does not change while somebody is asked. */
export interface Around {
  /** the file to write, absolute */
  readonly file: string
  readonly fileIsThere: boolean
  /** where a file of the time at which it is kept aside goes */
  readonly asideFile: string
  /** names that are typed are relative to this */
  readonly workingFolder: string
  /** of this machine, an IANA name; '' unknown */
  readonly timeZone: string
}

/** Something done outside; what comes of it is a line or two for the person. */
export type Effect =
  | { readonly kind: 'find' }
  | { readonly kind: 'hear'; readonly configText: string; readonly seconds: number }
  | {
      readonly kind: 'key'
      readonly configText: string
      readonly send: 'mark' | 'flags' | 'frame'
      readonly durationMs: number
      readonly gapMs?: number
    }
  | { readonly kind: 'look'; readonly path: string }
  | {
      readonly kind: 'write'
      readonly file: string
      readonly text: string
      /** the old file is kept here; undefined where there must be none */
      readonly asideFile: string | undefined
    }
  | { readonly kind: 'check'; readonly file: string }

export interface EffectResult {
  readonly ok: boolean
  readonly lines: readonly string[]
  /** of 'write': a file of that name was made in the meantime */
  readonly isThere?: boolean
  /** of 'find' */
  readonly found?: Found
}

/** What a step remembers between two of its questions. */
export interface Memo {
  /** its trial has been made, or its second question is asked */
  readonly tried?: boolean
  readonly worked?: boolean
  /** a measurement with several transmissions is under way */
  readonly search?: HangSearch
  /** of a file that is looked for: its name */
  readonly path?: string
  /** the file is written, and checked now */
  readonly checking?: boolean
}

/** All that a step sees. */
export interface View {
  readonly answers: Answers
  readonly found: Found
  readonly around: Around
  readonly memo: Memo
  /** what is answered so far, a line each, with the word that repeats it */
  readonly answered: readonly string[]
}

/** What a step makes of an answer. */
export type Taken =
  | { readonly to: 'next'; readonly set?: Partial<Answers>; readonly say?: readonly string[] }
  | { readonly to: 'ask'; readonly say?: readonly string[]; readonly memo?: Memo }
  | {
      readonly to: 'effect'
      readonly effect: Effect
      readonly say?: readonly string[]
      readonly memo?: Memo
    }
  | { readonly to: 'step'; readonly id: string }
  | { readonly to: 'end'; readonly isGood: boolean; readonly say?: readonly string[] }

/** One question, with what belongs to it. */
export interface Step {
  /** the word by which it is repeated */
  readonly id: string
  /** the answers that it gives: skipping forgets them */
  readonly keys: readonly (keyof Answers)[]
  /** steps that a new answer opens again */
  readonly reopens?: readonly string[]
  applies(view: View): boolean
  /** shown when it begins */
  intro?(view: View): readonly string[]
  /** ends in the default in brackets */
  prompt(view: View): string
  /** @param word what was typed, trimmed; '' for the default */
  take(word: string, view: View): Taken
  /** what became of its effect */
  done?(result: EffectResult, view: View): Taken
  /** for the list at the end; undefined while nothing is answered */
  shown?(answers: Answers): string | undefined
}
