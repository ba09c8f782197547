// A radio at 1200 bit/s loads nothing of 9600: what it imports is followed from file to file.
import { readFileSync } from 'node:fs'
import { dirname, join, resolve } from 'node:path'
import { expect, it } from 'vitest'

/** Every file that one loads before it runs, itself included; what is imported later, when asked for, is not. */
function loadedBy(file: string, found = new Set<string>()): Set<string> {
  if (found.has(file)) return found
  found.add(file)
  const text = readFileSync(file, 'utf8')
  for (const [statement, place] of text.matchAll(/^(?:import|export)[^;]*?from '(\.[^']+)\.js'/gms))
    if (!/^(import|export) type/.test(statement))
      loadedBy(`${join(dirname(file), place!)}.ts`, found)
  return found
}

it.each(['src/radio/worker.ts', 'src/radio/soundCardRadio.ts', 'src/cli/decode/decode.ts'])(
  '%s loads the receiver of 9600 bit/s only when it is asked for',
  (entry) => {
    const files = [...loadedBy(resolve(entry))]
    expect(files.length).toBeGreaterThan(20)
    expect(files.some((file) => file.includes('dsp/modem/receiver.ts'))).toBe(true)
    expect(files.filter((file) => file.includes('/baseband/'))).toEqual([])
  },
)
