import { spawnSync } from 'node:child_process'
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterAll, describe, expect, it } from 'vitest'
import { createWav } from '../../src/audio/wavWriter.js'
import { optionalParts } from '../bench/parts/optionalParts.js'
import { compiled } from '../ptt/helperProcess.js'

const folder = mkdtempSync(join(tmpdir(), 'ridgepost-plain-'))
afterAll(() => rmSync(folder, { recursive: true }))
const probe = fileURLToPath(new URL('../bench/parts/partsProbe.cjs', import.meta.url))

/** What `run` of a recording has loaded at its end. */
function loadedWith(config: string): string[] {
  const wav = createWav(join(folder, 'silence.wav'), {
    ...({ sampleRateHz: 12_000, sampleFormat: 's16le', channelCount: 1 } as const),
  })
  wav.write(new Float32Array(12_000))
  wav.close()
  mkdirSync(join(folder, 'maildir', 'new'), { recursive: true })
  mkdirSync(join(folder, 'maildir', 'cur'), { recursive: true })
  const file = join(folder, 'node.toml')
  const common =
    '[station]\ncall = "N0CALL"\n[store]\nfile = ":memory:"\n[audio]\ninput = "wav:silence.wav"\n'
  writeFileSync(file, common + config)
  const told = join(folder, 'loaded.json')
  const ended = spawnSync(
    process.execPath,
    ['--require', probe, compiled('src/cli/main.js'), 'run', file],
    { env: { ...process.env, PARTS_PROBE: told }, encoding: 'utf8' },
  )
  expect(ended.status, ended.stderr).toBe(0)
  return JSON.parse(readFileSync(told, 'utf8')).scripts
}

describe('a part that is off', () => {
  it('has none of its files loaded by a plain node', () => {
    const loaded = loadedWith('')
    expect(loaded.some((file) => file.endsWith('node/node.js'))).toBe(true)
    for (const { name, files } of optionalParts)
      expect(
        loaded.filter((file) => files.test(file)),
        name,
      ).toEqual([])
  }, 120_000)

  it.each(optionalParts)(
    '$name: has them loaded where it is on',
    ({ config, files }) => {
      expect(loadedWith(config).filter((file) => files.test(file)).length).toBeGreaterThan(0)
    },
    120_000,
  )
})
