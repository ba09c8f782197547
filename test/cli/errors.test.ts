import { chmodSync, mkdirSync, mkdtempSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { commands, configArgument } from '../../src/cli/commands.js'
import { runCommand } from './commandBench.js'

/*
 * Whatever file is wrong in whatever way, a person reads what is wrong and what to do: no name of an error of the system, no
 * sentence of a library, no place in the code.
 */
const raw =
  /\bE[A-Z]{4,}\b|\berrno\b|syscall|SQLITE_|Failed to|not a database,|disk I\/O|Invalid (input|TOML|option|UTF)|Expected \w+, received|\bundefined\b|\bNaN\b|\[object|\.[jt]s:\d+|node:|\b(Type|Range|Syntax)?Error\b|unexpected:/

/** Where "got" is not a value. */
const noValue =
  /got (no (such|permission)|a file stands|a folder|the (disk|file|address)|it is|name too)/

const nobody = 65534
const isRoot = process.geteuid?.() === 0
const secret = 'a file that may not be read'

/** Files that are wrong, each in its way, made anew: what writes must not spoil them for the next. */
function wrongFiles(): { folder: string; good: string; files: Readonly<Record<string, string>> } {
  const folder = mkdtempSync(join(tmpdir(), 'errors-'))
  const put = (name: string, content: string | Buffer, mode = 0o644): string => {
    const file = join(folder, name)
    writeFileSync(file, content)
    chmodSync(file, mode)
    return file
  }
  for (const above of [folder, dirname(folder)]) chmodSync(above, 0o755)
  const directory = join(folder, 'directory')
  mkdirSync(directory)
  const database = join(folder, 'none', 'node.db')
  return {
    folder,
    good: put('good.toml', `[station]\ncall = "Q0HUT-1"\n[store]\nfile = "${database}"\n`),
    files: {
      'a missing file': join(folder, 'none', 'none.toml'),
      'a directory': directory,
      'a file as a directory': join(put('plain', 'x'), 'node.toml'),
      'a name that is too long': join(folder, 'x'.repeat(300)),
      [secret]: put('secret.toml', '[station]\ncall = "Q0HUT"\n', 0),
      'no TOML': put('bad.toml', '[station\ncall = '),
      'a TOML value that is none': put('value.toml', '[station]\ncall = QQ0ZZ\n'),
      'a long line': put('long.toml', `x = "${'y'.repeat(500)}" z\n`),
      octets: put('octets.toml', Buffer.from([0, 255, 254, 1, 2, 200, 13, 10, 0, 128])),
      'wrong types': put('types.toml', 'station = 5\n[node]\nradio = "x"\n[store]\nfile = 7\n'),
      'wrong values': put(
        'values.toml',
        '[station]\ncall = 5\n[transmit]\nenabled = "yes"\nkeyDelayMs = "300ms"\n[audio]\ninput = 3\n',
      ),
    },
  }
}

type Words = readonly string[]

/** Each way in which a command takes a file. @param good a configuration that holds */
const ways: Readonly<Record<string, (file: string, good: string) => Words>> = {
  'run FILE': (file) => [file],
  'check FILE': (file) => [file, '--no-devices'],
  'check --config': (file) => ['--config', file, '--no-devices'],
  'levels FILE': (file) => [file],
  'levels --config': (file) => ['--config', file],
  'tone FILE': (file) => ['mark', file],
  'tone --to': (file, good) => ['mark', good, '--to', `wav:${file}`],
  'exposure FILE': (file) => [file],
  'ask --config': (file) => ['help', '--config', file],
  'load --config': (file, good) => ['repeaters', good, '--config', file, '--yes'],
  'load repeaters': (file, good) => ['repeaters', file, '--config', good, '--yes'],
  'load elements': (file, good) => ['elements', file, '--config', good, '--yes'],
  'load cards': (file, good) => ['cards', file, '--config', good, '--yes'],
  'log --config': (file) => ['--config', file],
  'log --database': (file) => ['--database', file],
  'log --backup': (file, good) => ['--config', good, '--backup', file],
  'log --restore': (file, good) => ['--config', good, '--restore', file, '--yes'],
  'enrol --config': (file) => ['--config', file],
  'decode FILE': (file) => [file],
  'encode --input': (file) => ['--input', file, '--output', join(dirname(file), 'out.wav')],
  'encode --output': (file) => ['Q0ONE>Q0TWO:x', '--output', file],
  'demo --scenario': (file) => ['--scenario', file, '--output', join(dirname(file), 'demo')],
}

describe('what a person reads of a file that is wrong', () => {
  for (const [way, wordsOf] of Object.entries(ways))
    it(way, async () => {
      const { load, config } = commands[way.split(' ')[0]!]!
      const build = await load()
      const { folder, good, files } = wrongFiles()
      const wrong: string[] = []
      for (const [what, file] of Object.entries(files)) {
        // Root may read everything.
        if (isRoot && what === secret) process.seteuid?.(nobody)
        try {
          const words = configArgument(config, wordsOf(file, good))
          const { stderr, stdout, exitCode } = await runCommand(build, words)
          const text = (stderr + stdout).replaceAll(folder, '')
          const found = raw.exec(text) ?? noValue.exec(text)
          if (found !== null) wrong.push(`${what}: "${found[0]}" in: ${text.trim()}`)
          if (exitCode !== 0 && text === '') wrong.push(`${what}: says nothing`)
        } catch (error) {
          wrong.push(`${what}: throws ${error}`)
        } finally {
          if (isRoot) process.seteuid?.(0)
        }
      }
      expect(wrong).toEqual([])
    }, 20_000)

  it('of a configuration that is no TOML: the line, a mark under the place, and what lacks', async () => {
    const { good } = wrongFiles()
    writeFileSync(good, '[station]\ncall = Q0HUT-1\n')
    const { stderr } = await runCommand(await commands.check!.load(), [good])
    expect(stderr).toBe(
      'ridgepost: good.toml:2:8: this is not a value: text stands in quotes, a number has no unit beside it\n' +
        '  call = Q0HUT-1\n' +
        '         ^\n',
    )
  })
})
