import { chownSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { enrolCommand } from '../../src/cli/enrol.js'
import { readControlFile } from '../../src/control/controlFile.js'
import { counterCode, parseBase32 } from '../../src/control/oneTimeCode.js'
import { runCommand } from './commandBench.js'

let folder: string
let config: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-enrol-'))
  config = join(folder, 'node.toml')
  writeFileSync(config, '[station]\ncall = "Q7RDG-10"\n[control]\nfile = "control.json"\n')
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const enrol = (...words: readonly string[]) =>
  runCommand(enrolCommand, [...words, '--config', config])

describe('enrol', () => {
  it('makes a secret of its own for each call, and lists the codes of it', async () => {
    const { stdout } = await enrol('q1ops', '--codes', '6')
    const secret = parseBase32(/base32\): (\S+)/.exec(stdout)![1]!)!
    expect(secret).toHaveLength(20)
    const listed = [...stdout.matchAll(/ (\d+) {2}(\d{8})/g)].map(([, , code]) => code)
    expect(listed).toEqual([0, 1, 2, 3, 4, 5].map((counter) => counterCode(secret, counter, 8)))
    expect(stdout).toContain('local rules')
    const file = join(folder, 'control.json')
    expect(statSync(file).mode & 0o777).toBe(0o600)
    await enrol('Q2OPS')
    const secrets = readControlFile(file).secrets
    expect(secrets.map(({ call }) => call)).toEqual(['Q1OPS', 'Q2OPS'])
    expect(Buffer.from(secrets[0]!.secret)).not.toEqual(Buffer.from(secrets[1]!.secret))
  })

  it('anew voids the former codes, and keeps those by the clock apart', async () => {
    await enrol('Q1OPS')
    const before = readFileSync(join(folder, 'control.json'), 'utf8')
    await enrol('Q1OPS', '--clock')
    const { stdout } = await enrol('Q1OPS')
    expect(stdout).toContain('former codes are void')
    const after = readControlFile(join(folder, 'control.json')).secrets
    expect(after.map(({ goesBy }) => goesBy).sort()).toEqual(['clock', 'counter'])
    expect(before).not.toContain(Buffer.from(after[1]!.secret).toString('base64'))
  })

  it.skipIf(process.getuid?.() !== 0)(
    'as root leaves the file to the owner of its folder',
    async () => {
      chownSync(folder, 12_345, 12_346)
      await enrol('Q1OPS')
      await enrol('Q2OPS')
      const { uid, gid, mode } = statSync(join(folder, 'control.json'))
      expect([uid, gid, mode & 0o777]).toEqual([12_345, 12_346, 0o600])
    },
  )

  it('lists and removes', async () => {
    expect((await enrol()).stdout).toBe('Nobody is enrolled.\n')
    await enrol('Q1OPS')
    expect((await enrol()).stdout).toBe('Q1OPS: next code is number 0\n')
    await enrol('Q1OPS', '--remove')
    expect((await enrol()).stdout).toBe('Nobody is enrolled.\n')
    expect((await enrol('Q1OPS', '--remove')).exitCode).toBe(1)
  })

  it.each(['Q1OPS-7', 'OPS', '12', 'Q1"OPS'])('"%s" is not a call sign', async (call) => {
    expect((await enrol(call)).exitCode).toBe(2)
  })

  it('says what is missing where control by radio is off', async () => {
    writeFileSync(config, '[station]\ncall = "Q7RDG-10"\n')
    const { stderr, exitCode } = await enrol('Q1OPS')
    expect(exitCode).toBe(1)
    expect(stderr).toContain('control.file')
  })
})
