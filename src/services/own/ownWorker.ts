// Entry of the thread in which one own service runs.
import { basename } from 'node:path'
import { pathToFileURL } from 'node:url'
import { parentPort, workerData } from 'node:worker_threads'
import { geodesicBetween } from '../geo/geodesic.js'
import { wayWords } from '../geo/words.js'
import { isAnswer, readManifest } from './manifest.js'
import type { OwnReply, OwnRequest, OwnService } from './ownProtocol.js'
import { ownStorage } from './ownStorage.js'

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

async function answer(
  service: OwnService,
  { number, question, context }: OwnRequest,
): Promise<void> {
  try {
    const { stored, ...told } = context
    const { storage, changes } = ownStorage(stored)
    const given: unknown = await service.answer(question, {
      ...told,
      storage,
      way: geodesicBetween,
      wayWords: (from, to) => wayWords(geodesicBetween(from, to), context.node.units),
    })
    if (isAnswer(given)) reply({ kind: 'answer', number, answer: given, changes: changes() })
    else {
      const reason = `it answered with ${given === null ? 'null' : typeof given}, expected a text or a list of texts`
      reply({ kind: 'failed', number, reason })
    }
  } catch (error) {
    reply({ kind: 'failed', number, reason: reasonOf(error) })
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
