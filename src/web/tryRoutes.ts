import type { PageParts, TryIt } from './parts.js'
import { type Route, route } from './route.js'
import { noiseBody, tryMessageBody, tryStateSchema } from './schemas.js'

/* The simulated hand-held of the demonstration: nothing real is sent, so that whoever may read may try. */

const path = '/api/v1/try'
const tried = ({ tryIt }: PageParts): TryIt => tryIt!

export const tryRoutes: readonly Route[] = [
  route({
    ...{ method: 'GET', path, right: 'public', response: tryStateSchema },
    summary: 'the simulated hand-held',
    handle: ({ parts }) => ({ json: tried(parts).state() }),
  }),
  route({
    ...{ method: 'POST', path: `${path}/messages`, right: 'public', body: tryMessageBody },
    ...{ summary: 'sends a message to the node with it', response: tryStateSchema },
    handle({ parts, body }) {
      tried(parts).send(body.text)
      return { json: tried(parts).state() }
    },
  }),
  route({
    ...{ method: 'PUT', path: `${path}/noise`, right: 'public', body: noiseBody },
    ...{ summary: 'sets carrier over noise of its path, dB', response: tryStateSchema },
    handle({ parts, body }) {
      tried(parts).setNoise(body.cnrDb)
      return { json: tried(parts).state() }
    },
  }),
]
