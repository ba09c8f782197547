// The bundle is what users run: built here as prepare builds it, and started as a user starts it.
import { spawnSync } from 'node:child_process'
import { readFileSync, statSync } from 'node:fs'
import { join } from 'node:path'
import { beforeAll, describe, expect, it } from 'vitest'
import { root } from '../tidy/sources.js'

const folder = join(root, 'dist/bundle')
const manifest = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as {
  readonly version: string
  readonly bin: { readonly ridgepost: string }
  readonly files: readonly string[]
}
const run = (...words: readonly string[]) =>
  spawnSync(process.execPath, [join(folder, 'ridgepost.js'), ...words], { encoding: 'utf8' })

describe('the bundle', () => {
  beforeAll(() => {
    const { status, stderr } = spawnSync(process.execPath, [join(root, 'src/packaging/bundle.mjs')])
    expect(status, String(stderr)).toBe(0)
  })

  it('is what package.json starts and ships', () => {
    expect(join(root, manifest.bin.ridgepost)).toBe(join(folder, 'ridgepost.js'))
    for (const file of manifest.files) expect(statSync(join(root, file)), file).toBeDefined()
  })

  it('says its version', () => {
    expect(run('--version').stdout.trim()).toBe(manifest.version)
  })

  it('decodes a recording as the sources do', () => {
    const recording = join(root, 'samples/recordings/swiatowid-ax25.wav')
    const truth = JSON.parse(readFileSync(recording.replace('.wav', '.json'), 'utf8')) as {
      readonly frames: readonly { readonly hex: string }[]
    }
    const { stdout, stderr } = run('decode', '--format', 'json', recording)
    const lines = stdout.split('\n').filter((line) => line !== '')
    const octets = lines.map((line) => (JSON.parse(line) as { readonly octets: string }).octets)
    expect(octets, stderr).toEqual(truth.frames.map(({ hex }) => hex))
  })

  it('has the helper, the thread of a radio and that of own services beside it', () => {
    for (const name of ['deadManHelper', 'worker', 'ownWorker'])
      expect(statSync(join(folder, `${name}.js`)).size).toBeGreaterThan(0)
  })

  it('has the kit with which the samples of own services pass their tests', () => {
    const { status, stdout } = spawnSync(process.execPath, ['--test', 'samples/services/'], {
      cwd: root,
      encoding: 'utf8',
    })
    expect(status, stdout).toBe(0)
    expect(stdout).toMatch(/pass 1[5-9]/)
    // What an editor reads of it.
    const { exports } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as {
      readonly exports: Readonly<Record<string, { readonly types?: string }>>
    }
    for (const { types } of Object.values(exports))
      if (types !== undefined) expect(statSync(join(root, types)).size).toBeGreaterThan(100)
  })

  it('names the licence of every package in it', () => {
    const licences = readFileSync(join(folder, 'LICENSES.txt'), 'utf8')
    for (const name of ['commander', 'fft.js', 'pino', 'zod', 'serialport', 'satellite.js'])
      expect(licences).toMatch(new RegExp(`^${name} \\d`, 'm'))
    expect(licences).not.toMatch(/\(undefined\)/)
  })
})
