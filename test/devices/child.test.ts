import { spawn } from 'node:child_process'
import { chmodSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { childEnd, describeEnd, findProgram, tied } from '../../src/devices/child.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-child-'))
})
afterEach(() => rmSync(folder, { recursive: true }))

const program = (name: string, mode = 0o755): string => {
  writeFileSync(join(folder, name), '#!/bin/sh\n', { mode })
  chmodSync(join(folder, name), mode)
  return join(folder, name)
}

describe('child processes', () => {
  it('a program is found by PATH or by its own path, if it may be run', () => {
    const runs = program('runs')
    program('text', 0o644)
    mkdirSync(join(folder, 'folder'))
    const env = { PATH: `/nowhere::${folder}` }
    expect(findProgram('runs', env)).toBe(runs)
    expect(findProgram(runs, {})).toBe(runs)
    for (const name of ['text', 'folder', 'missing', ''])
      expect(findProgram(name, env)).toBeUndefined()
  })

  it('one is tied to us where setpriv is installed, and else started as it is', () => {
    const runs = program('runs')
    const env = { PATH: folder }
    expect(tied([runs, 'x'], 'TERM', env)).toEqual([runs, 'x'])
    symlinkSync('/bin/true', join(folder, 'setpriv'))
    expect(tied([runs, 'x'], 'TERM', env)).toEqual([
      'setpriv',
      '--pdeathsig',
      'TERM',
      '--',
      runs,
      'x',
    ])
    // A missing one fails by its own name, not as a status of setpriv.
    expect(tied([`${folder}/missing`], 'KILL', env)).toEqual([`${folder}/missing`])
  })

  it.each([
    ['exit 0', 'status 0'],
    ['exit 3', 'status 3'],
    ['kill -TERM $$', 'signal SIGTERM'],
  ])('ends in words: %s', async (script, words) => {
    expect(describeEnd(await childEnd(spawn('sh', ['-c', script])))).toBe(words)
  })

  it('one that is not there has an end, too', async () => {
    const end = await childEnd(spawn(join(folder, 'missing')))
    expect(describeEnd(end)).toBe('no such program')
  })
})
