import { z } from 'zod'
import { decodeFrame } from '../ax25/frame.js'
import { formatLine } from '../ax25/line.js'
import { pcapHeader, pcapRecord } from '../capture/pcap.js'
import type { Visitor } from './access.js'
import { audioRoute } from './audioRoute.js'
import { configView } from './configView.js'
import { controlRoutes } from './controls.js'
import {
  conversationDetail,
  conversationViews,
  letterViews,
  noticeViews,
} from './conversationViews.js'
import { coverageGeoJson } from './coverage.js'
import { eventList } from './eventList.js'
import type { Feed } from './feed.js'
import { metricsText } from './metrics.js'
import type { PageParts } from './parts.js'
import { type Route, route } from './route.js'
import * as schemas from './schemas.js'
import { stateView } from './stateView.js'
import { stationsCsv, stationsGeoJson, stationsGpx } from './stationExports.js'
import { stationPositions } from './stationPositions.js'
import { stationDetail, stationViews } from './stationViews.js'
import { tryRoutes } from './tryRoutes.js'

const api = '/api/v1'

const readRoutes: readonly Route[] = [
  route({
    ...{ method: 'GET', path: `${api}/state`, right: 'none' },
    response: z.union([schemas.stateSchema, schemas.lockedStateSchema]),
    summary: 'the node and its radios as they are now; without a right to read only who may log in',
    handle: ({ parts, feed, visitor, canLogIn }) => ({
      json: { ...stateFor(visitor, parts, feed), visitor: { right: visitor.right, canLogIn } },
    }),
  }),
  route({
    ...{ method: 'GET', path: `${api}/stream`, right: 'public', query: schemas.streamQuery },
    ...{ summary: 'what happens, as Server-Sent Events', type: 'text/event-stream' },
    handle: ({ feed, query, lastEventId, visitor }) => ({
      type: 'text/event-stream',
      stream: (response) =>
        feed.stream.attach(response, {
          after: lastEventId ?? query.after,
          rows: query.spectrum === '1',
          isPublic: visitor.right === 'public',
        }),
    }),
  }),
  route({
    ...{ method: 'GET', path: `${api}/events`, right: 'public', query: schemas.eventsQuery },
    ...{ summary: 'the log, oldest first', response: schemas.eventSchema.array() },
    handle: ({ parts, query, visitor }) => ({ json: eventList(parts, query, visitor) }),
  }),
  route({
    ...{ method: 'GET', path: `${api}/stations`, right: 'public', query: schemas.stationsQuery },
    ...{ summary: 'stations, the latest first', response: schemas.stationSchema.array() },
    handle: ({ parts, query }) => ({ json: stationViews(parts, query.limit) }),
  }),
  ...(
    [
      ['csv', 'text/csv; charset=utf-8', stationsCsv],
      ['geojson', 'application/geo+json', stationsGeoJson],
      ['gpx', 'application/gpx+xml', stationsGpx],
    ] as const
  ).map(([ending, type, write]) =>
    route({
      ...{ method: 'GET', path: `${api}/stations.${ending}`, right: 'public', type },
      ...{ summary: `stations as ${ending}`, query: schemas.stationsQuery },
      handle: ({ parts, query }) => ({
        ...{ type, fileName: `stations.${ending}` },
        text: write(stationViews(parts, query.limit)),
      }),
    }),
  ),
  route({
    ...{ method: 'GET', path: `${api}/coverage.geojson`, right: 'public' },
    ...{ query: schemas.sinceQuery, type: 'application/geo+json' },
    summary: 'every position that was heard directly, with its signal; of the newest 5000 frames',
    handle: async ({ parts, query }) => {
      await parts.store.settled()
      const frames = parts.store.frames.query({ sinceWallMs: query.since, limit: framesMax })
      return {
        ...{ type: 'application/geo+json', fileName: 'coverage.geojson' },
        text: await coverageGeoJson(frames, parts.clock),
      }
    },
  }),
  route({
    ...{ method: 'GET', path: `${api}/stations/{call}`, right: 'public' },
    ...{ summary: 'one station over time', response: schemas.stationDetailSchema },
    handle: ({ parts, at }) => ({ json: stationDetail(parts, at.call!) }),
  }),
  route({
    ...{ method: 'GET', path: `${api}/stations/{call}/positions`, right: 'public' },
    ...{ summary: 'where one station was, the latest first; of its newest 2000 frames' },
    response: schemas.stationPositionSchema.array(),
    handle: async ({ parts, at }) => {
      await parts.store.settled()
      return { json: await stationPositions(parts, at.call!) }
    },
  }),
  route({
    ...{ method: 'GET', path: `${api}/conversations`, right: 'public', query: schemas.listQuery },
    ...{ summary: 'questions and their answers, the latest first' },
    response: schemas.conversationSchema.array(),
    handle: async ({ parts, query }) => ({ json: await conversationViews(parts, query.limit) }),
  }),
  route({
    ...{ method: 'GET', path: `${api}/conversations/{id}`, right: 'public' },
    ...{ summary: 'one question with every try', response: schemas.conversationDetailSchema },
    handle: async ({ parts, at }) => {
      await parts.store.settled()
      return { json: conversationDetail(parts, Number(at.id)) }
    },
  }),
  route({
    ...{ method: 'GET', path: `${api}/mailbox`, right: 'public', query: schemas.listQuery },
    ...{ summary: 'letters, the latest first; their texts for those who may read all' },
    response: schemas.letterSchema.array(),
    handle: ({ parts, query, visitor }) => ({
      json: letterViews(parts, query.limit, visitor.right !== 'public'),
    }),
  }),
  route({
    ...{ method: 'GET', path: `${api}/notices`, right: 'public', query: schemas.listQuery },
    ...{ summary: 'the board, the latest first', response: schemas.noticeSchema.array() },
    handle: ({ parts, query }) => ({ json: noticeViews(parts, query.limit) }),
  }),
  route({
    ...{ method: 'GET', path: `${api}/transmissions`, right: 'read', query: schemas.listQuery },
    ...{ summary: 'what the radios were given, the latest first' },
    response: schemas.transmissionSchema.array(),
    handle: async ({ parts, query }) => {
      await parts.store.settled()
      return { json: transmissionList(parts, query.limit) }
    },
  }),
  route({
    ...{ method: 'GET', path: `${api}/config`, right: 'read', response: schemas.configSchema },
    summary: 'the present configuration as it was understood, without secrets',
    handle: ({ parts }) => ({ json: configView(parts.config()) }),
  }),
  route({
    ...{ method: 'GET', path: `${api}/capture.pcap`, right: 'read', query: schemas.sinceQuery },
    ...{ summary: 'frames heard, for a protocol analyser', type: 'application/vnd.tcpdump.pcap' },
    handle: async ({ parts, query }) => {
      await parts.store.settled()
      return {
        ...{ type: 'application/vnd.tcpdump.pcap', fileName: 'ridgepost.pcap' },
        text: capture(parts, query.since),
      }
    },
  }),
  route({
    ...{ method: 'GET', path: '/healthz', right: 'none', response: schemas.wellSchema },
    unwell: schemas.unwellSchema,
    summary: '200 while the node is well, else 503',
    handle({ parts }) {
      const trouble = parts.trouble()
      return trouble === undefined
        ? { json: { ok: true } }
        : { status: 503, json: { ok: false, trouble } }
    },
  }),
  route({
    ...{ method: 'GET', path: '/metrics', right: 'read', type: 'text/plain; version=0.0.4' },
    summary: 'figures for Prometheus',
    handle: ({ parts, feed }) => ({
      text: metricsText(parts, feed),
      type: 'text/plain; version=0.0.4; charset=utf-8',
    }),
  }),
]

/** @param withTry the simulated hand-held is there */
export const allRoutes = (withTry: boolean): readonly Route[] => [
  ...readRoutes,
  ...controlRoutes,
  audioRoute(withTry),
  ...(withTry ? tryRoutes : []),
]

/** Whoever may not read is told what the page needs to ask him for a password, and nothing else. */
function stateFor(visitor: Visitor, parts: PageParts, feed: Feed): object {
  if (visitor.right === 'none') return { call: parts.call, atWallMs: parts.clock.wallMs() }
  const all = stateView(parts, feed)
  // Why a broker cannot be reached, and what failed, may name places that are nobody else's.
  return visitor.right === 'public' ? { ...all, broker: undefined, faults: undefined } : all
}

function transmissionList({ store }: PageParts, limit: number): unknown[] {
  return store.transmissions
    .query({ limit })
    .reverse()
    .map(({ octets, ...rest }) => ({ ...rest, line: lineOf(octets) }))
}

function lineOf(octets: Uint8Array): string {
  const decoded = decodeFrame(octets)
  return decoded.ok ? formatLine(decoded.frame) : `${octets.length} octets`
}

const framesMax = 5000

function capture({ store }: PageParts, sinceWallMs: number): Uint8Array {
  const frames = store.frames.query({ sinceWallMs, limit: framesMax })
  return Buffer.concat([
    pcapHeader(),
    ...frames.map(({ octets, heardAtWallMs, radio }) => pcapRecord(octets, heardAtWallMs, radio)),
  ])
}
