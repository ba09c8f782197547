// Entry of the thread in which one own service runs.

import { basename } from 'node:path'
import { pathToFileURL } from 'node:url'
import { parentPort, workerData } from 'node:worker_threads'
import { geodesicBetween } from '../geo/geodesic.js'
import { wayWords } from '../geo/words.js'
import { readAnswer, readManifest, readReadiness } from './manifest.js'
import { ownData } from './ownData.js'
import { ownEffects } from './ownEffects.js'
import { figuresWording } from './ownFigures.js'
import type { OwnCall, OwnContext, OwnReply, OwnRequest, OwnService } from './ownProtocol.js'

const port = parentPort!
const reply = (message: OwnReply): void => port.postMessage(message)

async function load(file: string): Promise<OwnService | undefined> {
  try {
    const module = (await import(pathToFileURL(file).href)) as { default?: unknown }
    const read = readManifest(module.default)
    if (!read.ok) {
      reply({ kind: 'unusable', reason: read.reason })
      return undefined
    }
    reply({ kind: 'ready', manifest: read.manifest })
    return read.service
  } catch (error) {
    // The engine keeps the place of a slip in the text of a module to itself; its own check prints it.
    const where = error instanceof SyntaxError ? `; node --check ${basename(file)} shows where` : ''
    reply({ kind: 'unusable', reason: `${reasonOf(error)}${where}` })
    return undefined
  }
}

async function answer(service: OwnService, request: OwnRequest): Promise<void> {
  const { number } = request
  try {
    if (!('context' in request)) {
      const readiness = readReadiness(await service.ready?.(request.now))
      reply({ kind: 'readiness', number, readiness })
      return
    }
    const { call, context } = request
    const { stored, figures, ...told } = context
    const { data, changes } = ownData(stored)
    const { sends, posts, send, post } = ownEffects()
    const given = await calledFor(service, call, {
      ...{ ...told, data, send, post },
      way: geodesicBetween,
      wayWords: (from, to) =>
        wayWords(geodesicBetween(from, to), context.node.units, figuresWording(figures)),
    })
    const read =
      call.kind === 'question' ? readAnswer(given) : { answer: '', messagesMax: undefined }
    if (read === undefined) {
      const reason = `it answered with ${given === null ? 'null' : typeof given}, expected a text or a list of texts`
      reply({ kind: 'failed', number, reason })
    } else reply({ kind: 'answer', number, ...read, effects: { changes: changes(), sends, posts } })
  } catch (error) {
    reply({ kind: 'failed', number, reason: reasonOf(error) })
  }
}

function calledFor(service: OwnService, call: OwnCall, context: OwnContext): unknown {
  switch (call.kind) {
    case 'question':
      return service.answer(call.question, context)
    case 'time':
      return service.every?.run(context)
    case 'heard':
      return service.onHeard?.(call.station, context)
  }
}

/** The message in front may be of any length. */
const stackCharactersMax = 5_000

/** With the place in the author's file, which is what the author needs. */
function reasonOf(error: unknown): string {
  if (!(error instanceof Error)) return String(error)
  const place = /\(?((?:file:\/\/)?[^\s()]+\.mjs(?:\?[^\s:]*)?:\d+:\d+)\)?/.exec(
    error.stack?.slice(0, stackCharactersMax) ?? '',
  )?.[1]
  const name = place?.split('/').at(-1)
  return name === undefined ? error.message : `${error.message} (${name})`
}

const service = await load((workerData as { file: string }).file)
if (service !== undefined)
  port.on('message', (request: OwnRequest) => void answer(service, request))
