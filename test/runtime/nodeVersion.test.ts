import { spawnSync } from 'node:child_process'
import { resolve } from 'node:path'
import { describe, expect, it } from 'vitest'
import { oldNodeMessage } from '../../src/runtime/nodeVersion.js'

const tooOld =
  /^Node 18\.20\.4 is too old: Ridgepost needs Node 20 or later\. Install .*run this again/

describe('a Node that is too old', () => {
  it.each([
    ['20.0.0', undefined],
    ['26.1.0', undefined],
    ['19.9.0', 'too old'],
    ['8.17.0', 'too old'],
  ])('%s', (found, expected) => {
    const message = oldNodeMessage(found, '>=20')
    expect(message?.match(/too old/)?.[0]).toBe(expected)
  })

  it.each([
    ['the program', ['--import', 'tsx', 'src/cli/main.ts', 'log', '--help']],
    ['what makes a clone ready', ['src/ready.mjs']],
  ])('is refused by %s before it loads anything that needs a newer one', (_, words) => {
    const pretend = `data:text/javascript,Object.defineProperty(process.versions, 'node', { value: '18.20.4' })`
    const [before, after] =
      words[0] === '--import' ? [words.slice(0, 2), words.slice(2)] : [[], words]
    const { stdout, stderr, status } = spawnSync(
      process.execPath,
      [...before, '--import', pretend, ...after],
      { encoding: 'utf8', cwd: resolve(import.meta.dirname, '../..') },
    )
    expect(stderr.replace(/^ridgepost: /, '')).toMatch(tooOld)
    expect(stdout).toBe('')
    expect(status).toBe(1)
  })
})
