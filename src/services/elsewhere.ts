import { airTextsOf } from '../words/air/all.js'
import { type BulletinRecord, bulletinRecords } from './bulletins.js'
import { ageWords } from './geo/words.js'
import type { ServiceContext } from './service.js'

/** A node that was not heard for longer may be out of reach by now. */
const heardWithinMs = 3 * 3_600_000

/** How a node announces its services in its bulletins; further lines follow in others of its own. */
const announcement = /^Message \S+ with: /

/** Who has nothing names another node that was heard lately and has announced the service: 'Ask Q1XYZ-10, heard 3min ago.' */
export function elsewhere(
  keyword: string,
  { storage, stations, clock, language }: ServiceContext,
): string | undefined {
  const textsBy = new Map<string, string[]>()
  for (const json of storage.read(bulletinRecords).values()) {
    const { from, text } = JSON.parse(json) as BulletinRecord
    textsBy.set(from, [...(textsBy.get(from) ?? []), text])
  }
  if (textsBy.size === 0) return undefined
  const nowMs = clock.wallMs()
  const offered = new RegExp(`(^|[ ,])${keyword}($|[ ,])`)
  const [newest] = [...textsBy]
    .filter(([, texts]) => texts.some((text) => announcement.test(text)))
    .filter(([, texts]) => texts.some((text) => offered.test(text)))
    .flatMap(([call]) => stations.find(call) ?? [])
    .filter(({ lastHeardWallMs }) => Math.abs(nowMs - lastHeardWallMs) <= heardWithinMs)
    .sort((a, b) => b.lastHeardWallMs - a.lastHeardWallMs)
  if (newest === undefined) return undefined
  const age = ageWords(nowMs - newest.lastHeardWallMs).replace('now', '0min')
  return airTextsOf(language).askElsewhere(newest.call, age)
}
