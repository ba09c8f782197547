import { readdirSync, readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { parseConfig } from '../../src/config/load.js'
import type { HelperOptions } from '../../src/ptt/helperProtocol.js'
import { type LoggedEdge, parseEdgeLog } from './loggedEdges.js'

/** Real processes run what test/compile.ts has made of the sources. */
export const compiled = (path: string): string =>
  fileURLToPath(new URL(`../../dist/${path}`, import.meta.url))

export const helperFile = compiled('src/ptt/deadManHelper.js')

const { ptt, transmit } = parseConfig('', 'defaults').radios[0]!

export const pttDefaults: HelperOptions = { ...ptt, kind: 'log', keyedMsMax: transmit.timeOutMs }

/** The edges so far; none while there is no file. */
export function edgesIn(file: string): LoggedEdge[] {
  try {
    return parseEdgeLog(readFileSync(file, 'utf8'))
  } catch {
    return []
  }
}

/** Looks again and again until `look` finds something; the verdict is on what was found, never on how long it took. */
export async function waitFor<Found>(look: () => Found | undefined): Promise<Found> {
  for (let tries = 0; tries < 6000; tries++) {
    const found = look()
    if (found !== undefined) return found
    await new Promise((resolve) => setTimeout(resolve, 10))
  }
  throw new Error('waited a minute in vain')
}

/** The process whose command line holds a text; the tests' own file names are in it only once. */
export function processWith(text: string): number {
  for (const id of readdirSync('/proc').filter((name) => /^\d+$/.test(name))) {
    if (Number(id) !== process.pid && commandLine(id).includes(text)) return Number(id)
  }
  throw new Error(`no process with ${text}`)
}

function commandLine(id: string): string {
  try {
    return readFileSync(`/proc/${id}/cmdline`, 'utf8')
  } catch {
    return '' // it has just ended
  }
}
