import type { Clock } from '../../runtime/clock.js'
import type { ClockTrust } from '../../runtime/clockTrust.js'
import type { Letter } from '../../store/letters.js'
import type { Store } from '../../store/store.js'
import type { Journal } from '../journal.js'
import { receiverOf } from '../mailRules.js'
import type { WordingFor } from '../nodeWording.js'
import type { NodeOptions } from '../options.js'

export interface LetterOptions {
  readonly octetsMax: number
  readonly perStation: number
  readonly total: number
  readonly keepMs: number
}

export interface NewLetterText {
  readonly from: string
  readonly to: string
  readonly subject: string
  readonly text: string
}

/** Letters that people leave for each other in connected mode. */
export interface Letters {
  readonly octetsMax: number
  /** The receiver as letters are kept for it; undefined for what is no station that can be written to. */
  receiverOf(call: string): string | undefined
  /** @returns why no further letter can be taken; undefined where it can */
  refusalOf(from: string, to: string): string | undefined
  /** @returns its number, or why it was not kept */
  leave(letter: NewLetterText): { readonly ok: true; readonly id: number } | Refused
  waitingFor(call: string): readonly Letter[]
  /** undefined where this station has none of that number */
  find(call: string, id: number): Letter | undefined
  /** To be called before it is written. @returns false where it could not be noted that its receiver may have seen it */
  showing(letter: Letter): boolean
  /** All of it was acknowledged. */
  read(letter: Letter, by: string): void
  /** @returns whether it is gone */
  remove(letter: Letter, by: string): boolean
}

interface Refused {
  readonly ok: false
  readonly reason: string
}

const letterReference = (id: number): string => `L${id}`

export function letters(parts: {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly store: Store
  readonly note: Journal
  readonly options: LetterOptions
  readonly nodeOptions: NodeOptions
  readonly wording: WordingFor
}): Letters {
  const { clock, clockTrust, store, note, options } = parts
  const wallMs = (): number | undefined => (clockTrust.trusted() ? clock.wallMs() : undefined)

  const outOfOrder = (): string => parts.wording().say('lettersOutOfOrder')

  const refusalOf = (from: string, to: string): string | undefined =>
    store.reading('the letters', outOfOrder(), () => {
      if (store.degraded) return outOfOrder()
      const { say } = parts.wording()
      const { perStation, total } = options
      if (store.letters.countFrom(from) >= perStation)
        return say('yourLetters', { count: perStation })
      if (store.letters.countFor(to) >= perStation)
        return say('lettersFor', { call: to, count: perStation })
      return store.letters.count >= total ? say('noLetterRoom') : undefined
    })

  return {
    octetsMax: options.octetsMax,
    receiverOf: (call) => receiverOf(call, parts.nodeOptions),
    refusalOf,
    leave(letter) {
      const reason = refusalOf(letter.from, letter.to)
      if (reason !== undefined) return { ok: false, reason }
      const leftWallMs = clock.wallMs()
      const kept = store.durably('a letter', () =>
        store.letters.insert({
          ...letter,
          leftWallMs,
          expiresWallMs: leftWallMs + options.keepMs,
          expiryTrusted: clockTrust.trusted(),
        }),
      )
      if (!kept.ok) return { ok: false, reason: outOfOrder() }
      const reference = letterReference(kept.value)
      const octetCount = new TextEncoder().encode(letter.text).length
      note('left', `letter for ${letter.to}: ${letter.subject} (${octetCount} octets)`, {
        ...{ station: letter.from, reference },
      })
      return { ok: true, id: kept.value }
    },
    waitingFor: (call) =>
      store.reading('the letters', [], () => store.letters.waitingFor(call, wallMs())),
    find: (call, id) =>
      store
        .reading('the letters', [], () => store.letters.waitingFor(call, wallMs()))
        .find((letter) => letter.id === id),
    showing: ({ id, shown, readWallMs }) =>
      shown ||
      readWallMs !== undefined ||
      store.durably('what is shown over a connection', () => store.letters.setShown(id)).ok,
    read(letter, by) {
      if (letter.readWallMs !== undefined) return
      const noted = store.durably('that a letter was read', () =>
        store.letters.setRead(letter.id, by, clock.wallMs()),
      )
      if (noted.ok)
        note('delivered', `letter from ${letter.from}: ${letter.subject}`, {
          ...{ station: by, reference: letterReference(letter.id) },
        })
    },
    remove: (letter) =>
      store.durably('that a letter was erased', () => store.letters.remove(letter.id)).ok,
  }
}
