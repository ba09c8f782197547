import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { dirname } from 'node:path'
import { fileURLToPath } from 'node:url'

/** Small, as they lie in the repository. */
const inputsMax = 150
const octetsMax = 400

const fileOf = (name: string): string =>
  fileURLToPath(new URL(`../../fuzz/corpus/${name}.txt`, import.meta.url))

/** Inputs that took new arms in earlier runs, one a line, in base64; none where there is no file. */
export function readCorpus(name: string): Uint8Array[] {
  const file = fileOf(name)
  if (!existsSync(file)) return []
  const lines = readFileSync(file, 'utf8').split('\n').filter(Boolean)
  return lines.map((line) => new Uint8Array(Buffer.from(line, 'base64')))
}

export function writeCorpus(name: string, inputs: readonly Uint8Array[]): void {
  mkdirSync(dirname(fileOf(name)), { recursive: true })
  const kept = inputs.filter(({ length }) => length > 0 && length <= octetsMax).slice(-inputsMax)
  writeFileSync(
    fileOf(name),
    kept.map((input) => `${Buffer.from(input).toString('base64')}\n`).join(''),
  )
}
