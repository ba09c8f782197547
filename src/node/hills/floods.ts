import type { NewHillRow } from '../../store/hills.js'
import { type Entry, type EntryKind, isEntryId, isLatestOnly, originOf } from './entry.js'
import { dayMs, type HillParts, minuteMs } from './hillParts.js'
import { entryIdOf, entryOfQuestion, questionOfEntry } from './ids.js'
import { type Knowledge, stationsText, weatherText } from './knowledge.js'

/*
 * What goes to every node within reach: notices, stations heard, weather, news of the directory. Each node that has it hands it to those
 * neighbours that have it not.
 */

export interface Floods {
  /** Inside a transaction: makes entries of what is new here. @returns whether there was something */
  produce(): boolean
  /** why it is not taken, in a word; undefined where it is */
  refusalOf(entry: Entry): string | undefined
  /** Inside a transaction: shows it here. @returns how it is named here */
  land(entry: Entry, writtenWallMs: number, expiresWallMs: number): string | undefined
  /** Takes what was shown out of sight: it has ended. */
  remove(row: {
    readonly kind: string
    readonly trace: string
    readonly local: string | undefined
  }): void
  /** what was known before a restart */
  recall(): void
}

const heardWithinMs = 3 * 60 * minuteMs
const stationLines = 30
const tellEveryMs = 60 * minuteMs
const toldLifeMs = 6 * 60 * minuteMs
const directoryEveryMs = dayMs
const directoryLifeMs = 3 * dayMs
/** Nothing to tell: the entry says only that the node is there, and which way. */
const noNews = '-'
const noticesMax = 200

export function floods(parts: HillParts, known: Knowledge, named: () => string): Floods {
  const { store, clock, clockTrust, options } = parts

  const tell = teller(parts, named)

  return {
    produce() {
      const wallMs = clock.wallMs()
      const isLate = (atMs: number): boolean => Math.abs(wallMs - atMs) <= heardWithinMs
      const heard = store.stations
        .recent(4 * stationLines)
        .filter(({ call, lastHeardWallMs }) => isLate(lastHeardWallMs) && /\d/.test(call))
        .slice(0, stationLines)
      const weather = store.stations.weather(heardWithinMs)
      return [
        tell.notices(),
        tell.latest('stations', stationsText(heard, wallMs), tellEveryMs, toldLifeMs),
        tell.latest('weather', weatherText(weather, wallMs), tellEveryMs, toldLifeMs),
        tell.latest(
          'directory',
          options.news.join('\n') || noNews,
          directoryEveryMs,
          directoryLifeMs,
        ),
      ].some(Boolean)
    },
    refusalOf({ kind, from, text, id }) {
      if (kind === 'withdrawal') return isEntryId(text) ? undefined : 'text'
      if (isLatestOnly(kind)) return from === originOf(id) ? undefined : 'from'
      if (text.includes('\n')) return 'text'
      const wallMs = clockTrust.trusted() ? clock.wallMs() : undefined
      const { total, perSender } = parts.nodeOptions.notices
      const isFull =
        store.notices.countFrom(from, wallMs) >= perSender ||
        store.notices.current(wallMs, total).length >= total
      return isFull ? 'full' : undefined
    },
    land({ id, kind, from, text }, writtenWallMs, expiresWallMs) {
      const origin = originOf(id)
      if (kind === 'notice') {
        const life = {
          postedWallMs: writtenWallMs,
          expiresWallMs,
          expiryTrusted: clockTrust.trusted(),
        }
        store.notices.insert({ questionId: questionOfEntry(id), from, text, ...life })
        return questionOfEntry(id)
      }
      if (!isLatestOnly(kind)) return undefined
      const before = newest(store, origin, kind)
      if (before !== undefined) store.hills.end(before.entryId, 'replaced')
      if (kind === 'stations' || kind === 'weather') known.take(origin, kind, text, writtenWallMs)
      else if (text !== noNews)
        for (const [index, line] of text.split('\n').slice(0, newsMax).entries())
          parts.tellNews(origin, index + 1, line)
      return undefined
    },
    remove({ kind, local }) {
      if (kind === 'notice' && local !== undefined) store.notices.remove(local)
    },
    recall() {
      for (const { entryId, kind, text, writtenWallMs, trace } of store.hills.open())
        if (trace !== '' && (kind === 'stations' || kind === 'weather'))
          known.take(originOf(entryId), kind, text, writtenWallMs)
    },
  }
}

/** Makes entries of what is told here. Inside a transaction. */
function teller(parts: HillParts, named: () => string) {
  const { store, clock, clockTrust, options } = parts

  const rowOf = (kind: EntryKind, text: string, lifeMs: number): NewHillRow => {
    const wallMs = clock.wallMs()
    return {
      ...{
        entryId: entryIdOf(options.own, kind, wallMs, named()),
        kind,
        from: options.own,
        to: '*',
      },
      ...{ subject: '', text, writtenWallMs: wallMs, expiresWallMs: wallMs + lifeMs },
      ...{ expiryTrusted: clockTrust.trusted(), trace: '', cameFrom: undefined, state: 'here' },
      ...{ peer: undefined, outcome: undefined, local: undefined },
    }
  }

  /** Tells it anew where it says something else, or was told long ago. */
  const tellLatest = (kind: EntryKind, text: string, everyMs: number, lifeMs: number): boolean => {
    if (text === '') return false
    const before = newest(store, options.own, kind)
    const agoMs = before
      ? Math.abs(clock.wallMs() - before.writtenWallMs)
      : Number.POSITIVE_INFINITY
    if (agoMs < everyMs && (before?.text === text || kind !== 'directory')) return false
    if (before !== undefined) store.hills.end(before.entryId, 'replaced')
    store.hills.insert(rowOf(kind, text, lifeMs))
    return true
  }

  const produceNotices = (): boolean => {
    const wallMs = clockTrust.trusted() ? clock.wallMs() : undefined
    let isNew = false
    for (const notice of store.notices.current(wallMs, noticesMax)) {
      const { questionId } = notice
      if (entryOfQuestion(questionId) !== undefined) continue
      const entryId = entryIdOf(options.own, 'notice', questionId)
      if (store.hills.find(entryId) !== undefined || !maySend(parts, notice.from)) continue
      const row = rowOf('notice', notice.text, 0)
      const { from, postedWallMs: writtenWallMs, expiresWallMs, expiryTrusted } = notice
      const life = { writtenWallMs, expiresWallMs, expiryTrusted }
      store.hills.insert({ ...row, entryId, from, ...life, local: questionId })
      isNew = true
    }
    return isNew
  }

  return { latest: tellLatest, notices: produceNotices }
}

const newest = (store: HillParts['store'], origin: string, kind: string) =>
  store.hills
    .open()
    .filter((row) => row.kind === kind && originOf(row.entryId) === origin)
    .at(-1)

/** Lines of news that are shown of one node. */
const newsMax = 9

/** An entry that began with somebody without a licence goes on the air only where the licensee allows that sender. */
export const maySend = ({ options }: HillParts, from: string): boolean =>
  options.isLicensed(from) || options.senders.includes(from.toLowerCase())
