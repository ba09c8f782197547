import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { serviceEnvironment } from './serviceEnvironment.js'

describe('what a unit sets for its program', () => {
  let folder: string
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'ridgepost-unit-'))
  })
  afterEach(() => rmSync(folder, { recursive: true }))

  it('each setting of each line, an equals sign in its value too', () => {
    const unit = join(folder, 'a.service')
    writeFileSync(
      unit,
      '[Service]\n#Environment=C=3\nEnvironment=A=1 B=x=y\nEnvironmentFile=-/etc/a\nEnvironment=D=4\n',
    )
    expect(serviceEnvironment(unit)).toEqual({ A: '1', B: 'x=y', D: '4' })
  })

  it('one memory for all threads of the node, given back where it is free (mallopt(3))', () => {
    const unit = resolve(import.meta.dirname, '../../../systemd/ridgepost.service')
    expect(serviceEnvironment(unit)).toMatchObject({
      MALLOC_ARENA_MAX: '1',
      MALLOC_TRIM_THRESHOLD_: '131072',
    })
  })
})
