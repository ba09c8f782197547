import { mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { runCommand as nodeCommand } from '../../src/cli/run/run.js'
import { toneCommand } from '../../src/cli/tone/tone.js'
import { parseConfig } from '../../src/config/load.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { lockRadios } from '../../src/setup/keyLocks.js'
import { runCommand } from '../cli/commandBench.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const clock = systemClock()
// Invented: no country's calls begin with Q.
const call = 'QQ1AA-10'
const text = (radio: string, enabled = true): string =>
  `[station]\ncall = "${call}"\n[transmit]\nenabled = ${enabled}\n${radio}`
const lock = (toml: string, from = folder) => {
  const config = parseConfig(toml, 'node.toml')
  return lockRadios(config, [...config.radios.keys()], from, clock)
}

/** Names that no other test has. */
const device = (name: string): string => join(folder, name)
const audio = (name: string): string =>
  `[audio]\ninput = "unix:${name}-in"\noutput = "unix:${name}-out"\n`

const kinds: readonly (readonly [kind: string, radio: () => string])[] = [
  ['serial', () => `[ptt]\nkind = "serial"\ndevice = "${device('tty')}"`],
  ['gpio', () => `[ptt]\nkind = "gpio"\ndevice = "${device('chip')}"\nline = 17`],
  ['hid', () => `[ptt]\nkind = "hid"\ndevice = "${device('hidraw')}"`],
  [
    'command',
    () => `[ptt]\nkind = "command"\nkeyCommand = ["${device('key')}"]\nunkeyCommand = ["u"]`,
  ],
  ['none', () => `${audio('vox')}[ptt]\nhangMs = 500\n`],
  ['log', () => `[ptt]\nkind = "log"\nlogFile = "edges.log"`],
  ['modem at a serial line', () => `[modem]\nkind = "serial"\ndevice = "${device('modem')}"`],
  ['modem over TCP', () => `[modem]\nkind = "tcp"\nhost = "${device('m')}"\nport = 7000`],
]

describe.skipIf(process.platform !== 'linux')('one program at a time keys a radio', () => {
  it.each(kinds)('%s: a second is refused', async (_, radio) => {
    const toml = text(radio())
    const release = await lock(toml)
    await expect(lock(toml)).rejects.toMatchObject({ code: 'key-line-taken' })
    await release()
    await (await lock(toml))()
  })

  it.each(kinds)(
    '%s: `run` and `tone` take the lock before anything is opened',
    async (kind, radio) => {
      const file = join(folder, 'node.toml')
      writeFileSync(file, text(`${kind === 'none' ? '' : audio('card')}${radio()}`))
      const release = await lock(text(radio()))
      const run = await runCommand(nodeCommand, [file], { clock })
      expect(run).toMatchObject({ exitCode: 1, stderr: expect.stringMatching(/end that first/) })
      const opened: unknown[] = []
      const open = (): never => {
        opened.push('open')
        throw new Error('opened')
      }
      const tone = await runCommand(
        (edges) => toneCommand(edges, open),
        ['mark', file, '--confirm', call],
        { clock },
      )
      const words = kind.startsWith('modem') ? /an external modem/ : /end that first/
      expect(tone).toMatchObject({ exitCode: 1, stderr: expect.stringMatching(words) })
      expect(opened).toEqual([])
      await release()
    },
  )

  it('a link and the device that it points to are one line', async () => {
    writeFileSync(device('ttyUSB0'), '')
    symlinkSync(device('ttyUSB0'), device('key'))
    const line = (name: string) => text(`[ptt]\nkind = "serial"\ndevice = "${device(name)}"`)
    const release = await lock(line('key'))
    await expect(lock(line('ttyUSB0'))).rejects.toMatchObject({ code: 'key-line-taken' })
    await release()
  })

  it('what keys nothing is not locked, and two radios of one program may share a log', async () => {
    const vox = text(audio('quiet'), false)
    const releases = [await lock(vox), await lock(vox)]
    const radio = '[[radio]]\n[radio.ptt]\nkind = "log"\nlogFile = "both.log"\n'
    releases.push(await lock(`${radio}${radio}`))
    await Promise.all(releases.map((release) => release()))
  })
})
