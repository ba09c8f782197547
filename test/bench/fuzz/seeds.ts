import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'

/** @param path of a source, 'src/node/node.ts' */
export type Load = <Module>(path: string) => Promise<Module>

export const samples = fileURLToPath(new URL('../../../samples/', import.meta.url))
export const bytes = (text: string): Uint8Array => Buffer.from(text, 'latin1')
export const sample = (path: string): string => readFileSync(join(samples, path), 'utf8')
export const firstLines = (text: string, count: number): Uint8Array =>
  Buffer.from(text.split('\n').slice(0, count).join('\n'))
