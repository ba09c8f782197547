import {
  chmodSync,
  chownSync,
  existsSync,
  lstatSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { putFolderInPlace, putInPlace, replaceFile } from '../../src/devices/replaceFile.js'

let folder: string
const at = (...names: string[]): string => join(folder, ...names)
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-replace-'))
})
afterEach(() => rmSync(folder, { recursive: true }))

const rightsOf = (path: string) => {
  const { uid, gid, mode } = statSync(path)
  return { uid, gid, mode: (mode & 0o7777).toString(8) }
}

describe('replacing a file', () => {
  it('has the new content, the old mode, and nothing left beside it', () => {
    writeFileSync(at('data'), 'old')
    chmodSync(at('data'), 0o640)
    replaceFile(at('data'), 'new')
    expect(readFileSync(at('data'), 'utf8')).toBe('new')
    expect(rightsOf(at('data')).mode).toBe('640')
    expect(readdirSync(folder)).toEqual(['data'])
  })

  it('makes the folder that lacks', () => {
    replaceFile(at('a', 'b', 'data'), Uint8Array.of(1, 2))
    expect([...readFileSync(at('a', 'b', 'data'))]).toEqual([1, 2])
  })

  it('leaves the old one as it was where the new one cannot be written', () => {
    mkdirSync(at('data'))
    writeFileSync(at('data', 'inner'), 'kept')
    expect(() => replaceFile(at('data'), 'new')).toThrow(/data: cannot be written: a folder/)
    expect(readFileSync(at('data', 'inner'), 'utf8')).toBe('kept')
    expect(readdirSync(folder)).toEqual(['data'])
  })

  it('never writes through a link: neither one in its place nor one under its working name', () => {
    writeFileSync(at('other'), 'untouched')
    symlinkSync(at('other'), at('data'))
    symlinkSync(at('other'), at('data.partial'))
    replaceFile(at('data'), 'new')
    expect(readFileSync(at('other'), 'utf8')).toBe('untouched')
    expect(lstatSync(at('data')).isSymbolicLink()).toBe(false)
    writeFileSync(at('prepared'), 'x')
    symlinkSync(at('prepared'), at('link'))
    expect(() => putInPlace(at('link'), at('data'))).toThrow(/cannot be written: /)
  })

  it('puts a prepared file and a prepared folder in place', () => {
    writeFileSync(at('data'), 'old')
    writeFileSync(at('prepared'), 'new')
    putInPlace(at('prepared'), at('data'))
    expect(readFileSync(at('data'), 'utf8')).toBe('new')
    for (const name of ['cards', 'fresh']) mkdirSync(at(name), { mode: 0o750 })
    chmodSync(at('cards'), 0o750)
    writeFileSync(at('cards', 'old.md'), '')
    writeFileSync(at('fresh', 'new.md'), '')
    putFolderInPlace(at('fresh'), at('cards'))
    expect(readdirSync(at('cards'))).toEqual(['new.md'])
    expect(rightsOf(at('cards')).mode).toBe('750')
    expect(readdirSync(folder).sort()).toEqual(['cards', 'data'])
  })
})

describe.skipIf(process.getuid?.() !== 0)('replacing a file as root', () => {
  const service = { uid: 12_345, gid: 12_346 }
  beforeEach(() => chownSync(folder, service.uid, service.gid))

  it('keeps its owner, also where a former one is named', () => {
    writeFileSync(at('data'), 'old')
    chownSync(at('data'), 12_347, 12_348)
    replaceFile(at('data'), 'new')
    expect(rightsOf(at('data'))).toMatchObject({ uid: 12_347, gid: 12_348 })
    writeFileSync(at('prepared'), '')
    putInPlace(at('prepared'), at('fresh'), at('data'))
    expect(rightsOf(at('fresh'))).toMatchObject({ uid: 12_347, gid: 12_348 })
  })

  it('gives what is new to the owner of its folder', () => {
    replaceFile(at('a', 'b', 'data'), 'new')
    for (const path of [at('a'), at('a', 'b'), at('a', 'b', 'data')])
      expect(rightsOf(path)).toMatchObject(service)
    writeFileSync(at('prepared'), '')
    putInPlace(at('prepared'), at('fresh'))
    expect(rightsOf(at('fresh'))).toMatchObject(service)
  })

  it('gives a folder of files to the owner of the old one', () => {
    mkdirSync(at('cards'))
    chownSync(at('cards'), 12_347, 12_348)
    mkdirSync(at('prepared'))
    writeFileSync(at('prepared', 'new.md'), '')
    putFolderInPlace(at('prepared'), at('cards'))
    for (const path of [at('cards'), at('cards', 'new.md')])
      expect(rightsOf(path)).toMatchObject({ uid: 12_347, gid: 12_348 })
    expect(existsSync(at('cards.former'))).toBe(false)
  })
})
