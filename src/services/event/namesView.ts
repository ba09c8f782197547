import type { Wording } from '../../words/air/wording.js'
import type { Answer, Question, Service, ServiceContext } from '../service.js'

/** A tactical name, and who holds it now. */
export interface HeldName {
  readonly name: string
  /** call sign with SSID; undefined while nobody holds it */
  readonly call: string | undefined
}

/** The tactical names of an event: 'CHECK3' is today Q1ABC-7. */
export interface NamesView {
  /** a tactical name in its one form; undefined for what is none, and while the event is not on */
  nameOf(word: string): string | undefined
  /** whoever holds a name, also when the event is over: for what was left before */
  holder(name: string): string | undefined
  /** names that a station holds, likewise */
  heldBy(call: string): readonly string[]
  /** what is in the list of this name, 'ALL' being every name; undefined for no list, and while the event is not on */
  listed(word: string): readonly string[] | undefined
  /** every name, in the order of the file */
  all(): readonly HeldName[]
  /** what begins each text that goes out for the event, in the station's language: 'EXERCISE ' where it is one, else nothing */
  readonly mark: string
  /** the same, in the language of who is answered */
  markIn(wording: Wording): string
  /** A question as its service is to see it: names in it stand for who holds them; or its answer, where that is all. */
  read(service: Service, question: Question, context: ServiceContext): ReadQuestion
}

export type ReadQuestion = { readonly question: Question } | { readonly answer: Answer }
