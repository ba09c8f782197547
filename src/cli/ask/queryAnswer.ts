import { parsePayload } from '../../aprs/parse.js'
import { personDestination } from '../../node/options.js'
import { directedReply } from '../../node/queries.js'
import type { Dispatched } from '../../services/dispatch.js'
import type { StoreReader } from '../../store/readOnly.js'
import type { Wording } from '../../words/air/wording.js'

/** What a beacon or a repetition is told as, since it is no message. */
const told = {
  beacon: (what: string) => `(the node sends its ${what})`,
  resend: ({ say }: Wording) =>
    `(the node sends again what you have not acknowledged, else: ${say('noMessages')})`,
} as const

/**
 * What the node answers to a query of the APRS reference (chapter 15); undefined for any other text.
 * @param reader what the node has heard; undefined for nothing
 */
export function queryAnswer(
  { from, text }: { readonly from: string; readonly text: string },
  {
    call,
    wallMs,
    wording,
  }: Pick<Parameters<typeof directedReply>[2], 'call' | 'wallMs' | 'wording'>,
  reader: Pick<StoreReader, 'stations'> | undefined,
): Dispatched | undefined {
  const payload = parsePayload(
    new TextEncoder().encode(`:${call.padEnd(9)}:${text}`),
    personDestination,
  )
  if (payload.kind !== 'directedQuery') return undefined
  const heard = { from, destination: personDestination, ax25: { path: [] } }
  const stations = reader?.stations ?? { recent: () => [], hourlyCounts: () => undefined }
  const reply = directedReply(payload, heard, { call, stations, wallMs, wording })
  switch (reply.kind) {
    case 'message':
      return { keyword: 'query', messages: [reply.text] }
    case 'beacon':
      return { keyword: 'query', messages: [told.beacon(reply.beacon)] }
    case 'resend':
      return { keyword: 'query', messages: [told.resend(wording)] }
    case 'none':
      return { keyword: undefined, messages: [`(${reply.reason})`] }
  }
}
