import { inEnglish } from '../../words/air/all.js'
import type { Wording } from '../../words/air/wording.js'
import { isCallWord } from '../asking/kinds.js'
import { parseCall } from '../callWords.js'
import { exerciseMark } from './exerciseMark.js'
import type { HeldName, NamesView } from './namesView.js'
import type { NameEntry } from './parseNames.js'
import { readNamed } from './readNamed.js'

/** Every name: a list that is always there. */
export const everyName = 'ALL'

/** At most as many characters as an addressee has (APRS reference 1.0.1, chapter 14). */
const nameShape = /^(?=.*[A-Z])[A-Z0-9]{2,9}$/

/** A tactical name in its one form; undefined for what can be none, such as a call sign. */
export function tacticalName(text: string): string | undefined {
  const name = text
    .trim()
    .toUpperCase()
    .replace(/[.,;:!?]+$/, '')
  return nameShape.test(name) && !isCallWord(name) && name !== everyName ? name : undefined
}

/** Who was given a name by the operator; without a call nobody holds it. */
export interface GivenName {
  readonly call?: string | undefined
  readonly atWallMs: number
  /** who said so: 'the terminal', 'Q1OPS by radio' */
  readonly by: string
}

/** Where the names that were given are kept. */
export interface NameKeeping {
  all(): ReadonlyMap<string, GivenName>
  /** undefined: as the file has it. @returns whether it is on the disk now */
  set(name: string, given: GivenName | undefined): boolean
}

export type NameGiven =
  | { readonly ok: true; readonly name: string; readonly call: string | undefined }
  | {
      readonly ok: false
      readonly why: 'Bad' | 'NoCall' | 'Many' | 'Disk'
      /** for the operator */
      readonly reason: string
    }

/** The names of an event, and who may change them. */
export interface TacticalNames extends NamesView {
  /** @param word a call sign; '-' for nobody; 'file' for whoever the file names */
  give(name: string, word: string, by: string): NameGiven
}

export interface TacticalNamesOptions {
  /** of the file, as it is now */
  readonly entries: () => readonly NameEntry[]
  readonly keeping: NameKeeping
  readonly isOn: () => boolean
  readonly isExercise: boolean
  /** of the station's language; English unless given */
  readonly wording?: Wording | undefined
  readonly wallMs: () => number
  /** somebody else may hold a name now */
  readonly onChange: () => void
}

/** More than any file of one event: those that were given and are in no file count, too. */
export const namesMax = 200

/** What the operator gave wins over the file, until it is given back to the file. */
export function tacticalNames(options: TacticalNamesOptions): TacticalNames {
  const { entries, keeping, isOn } = options

  const all = (): readonly HeldName[] => {
    const given = keeping.all()
    const held = new Map<string, string | undefined>()
    for (const { name, call } of entries()) held.set(name, call)
    for (const [name, { call }] of given) held.set(name, call)
    return [...held].map(([name, call]) => ({ name, call }))
  }
  const isKnown = (name: string): boolean =>
    keeping.all().has(name) || entries().some((entry) => entry.name === name)

  const view: TacticalNames = {
    nameOf(word) {
      const name = tacticalName(word)
      return isOn() && name !== undefined && isKnown(name) ? name : undefined
    },
    holder: (name) => all().find((one) => one.name === name)?.call,
    heldBy: (call) => all().flatMap((one) => (one.call === call ? [one.name] : [])),
    listed(word) {
      if (!isOn()) return undefined
      const list = word.trim().toUpperCase()
      if (list === everyName) return all().map(({ name }) => name)
      const members = entries().filter(({ lists }) => lists.includes(list))
      return members.length === 0 ? undefined : members.map(({ name }) => name)
    },
    all,
    mark: exerciseMark(options.isExercise, options.wording ?? inEnglish),
    markIn: (wording) => exerciseMark(options.isExercise, wording),
    read: (service, question, context) => readNamed(service, question, context, view),
    give(text, word, by) {
      const name = tacticalName(text)
      if (name === undefined)
        return { ok: false, why: 'Bad', reason: `"${text.slice(0, 12)}" cannot be a tactical name` }
      const isFile = word.toLowerCase() === 'file'
      const isNobody = word === '-' || word.toLowerCase() === 'nobody'
      const call = isFile || isNobody ? undefined : parseCall(word)
      if (call === undefined && !isFile && !isNobody)
        return { ok: false, why: 'NoCall', reason: `"${word.slice(0, 12)}" is not a call sign` }
      if (!isKnown(name) && keeping.all().size >= namesMax)
        return { ok: false, why: 'Many', reason: `there are ${namesMax} names already` }
      const given = { ...(call === undefined ? {} : { call }), atWallMs: options.wallMs(), by }
      if (!keeping.set(name, isFile ? undefined : given))
        return { ok: false, why: 'Disk', reason: 'the disk does not take it' }
      options.onChange()
      return { ok: true, name, call: view.holder(name) }
    },
  }
  return view
}
