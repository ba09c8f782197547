import { standardWordings } from '../words/air/all.js'
import { bulletinKind, bulletinRecords } from './bulletins.js'
import { spanWords } from './geo/words.js'
import { recordsIn } from './recordsIn.js'
import type { ServiceContext } from './service.js'
import { wordingOf } from './wordingOf.js'

/** A node that was not heard for longer may be out of reach by now. */
const heardWithinMs = 3 * 3_600_000

/** Who has nothing names another node that was heard lately and has announced the service: 'Ask Q1XYZ-10, heard 3min ago.' */
export function elsewhere(keyword: string, context: ServiceContext): string | undefined {
  const { storage, stations, clock, wordings = standardWordings } = context
  const textsBy = new Map<string, string[]>()
  for (const [, { from, text }] of recordsIn(storage.read(bulletinRecords), bulletinKind.isOne))
    textsBy.set(from, [...(textsBy.get(from) ?? []), text])
  if (textsBy.size === 0) return undefined
  const nowMs = clock.wallMs()
  // How a node announces its services in its bulletins; further lines follow in others of its own.
  const begins = wordings.all.map(
    ({ say }) =>
      (call: string): string =>
        say('announcement', { call, list: '' }),
  )
  const offered = new RegExp(`(^|[ ,])${keyword}($|[ ,])`)
  const [newest] = [...textsBy]
    .filter(([call, texts]) =>
      texts.some((text) => begins.some((begin) => text.startsWith(begin(call)))),
    )
    .filter(([, texts]) => texts.some((text) => offered.test(text)))
    .flatMap(([call]) => stations.find(call) ?? [])
    .filter(({ lastHeardWallMs }) => Math.abs(nowMs - lastHeardWallMs) <= heardWithinMs)
    .sort((a, b) => b.lastHeardWallMs - a.lastHeardWallMs)
  if (newest === undefined) return undefined
  const wording = wordingOf(context)
  const age = spanWords(nowMs - newest.lastHeardWallMs, wording)
  return wording.say('askElsewhere', { call: newest.call, age })
}
