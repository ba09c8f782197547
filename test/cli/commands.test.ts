import { spawnSync } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import { describe, expect, it } from 'vitest'
import { commands, configArgument } from '../../src/cli/commands.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { compiled } from '../ptt/helperProcess.js'
import { root } from '../tidy/sources.js'

const main = (...words: readonly string[]) =>
  spawnSync(process.execPath, [compiled('src/cli/main.js'), ...words], { encoding: 'utf8' })

describe('commands', () => {
  it.each(Object.keys(commands))(
    '%s has its name, and its way to name a configuration',
    async (name) => {
      const streams = {
        stdin: new PassThrough(),
        stdout: new PassThrough(),
        stderr: new PassThrough(),
      }
      const clock = virtualClock()
      const log = { write: () => {}, flush: async () => {}, listen: () => {}, lostCount: 0 }
      const others = {
        random: seededRandom(1),
        env: {},
        setExitCode: () => {},
        onStop: () => {},
        onReload: () => {},
      }
      const command = (await commands[name]!.load())({
        ...streams,
        log,
        onUncaught: () => {},
        logIsJournal: false,
        clock,
        ...others,
      })
      expect(command.name()).toBe(name)
      const options = command.options.map(({ long }) => long)
      const argumentNames = command.registeredArguments.map((argument) => argument.name())
      const way = options.includes('--config')
        ? 'option'
        : argumentNames.includes('config')
          ? 'argument'
          : 'none'
      expect(commands[name]!.config).toBe(way)
    },
  )

  it('are listed, with an unknown one refused, and one explained', () => {
    const { stdout } = main('--help')
    for (const [name, { summary }] of Object.entries(commands)) {
      expect(stdout).toMatch(new RegExp(`^  ${name} `, 'm'))
      expect(stdout).toContain(summary.split(' ').slice(0, 3).join(' '))
    }
    expect(main('nonsense')).toMatchObject({ status: 2 })
    expect(main('constructor')).toMatchObject({ status: 2 })
    expect(main('help', 'run').stdout).toContain('--receive-only')
  })

  it('are loaded only when they are asked for', () => {
    const text = readFileSync(join(root, 'src/cli/main.ts'), 'utf8')
    const imported = [...text.matchAll(/^import (?!type).*from '(.*)'/gm)].map(([, from]) => from!)
    for (const from of imported) {
      const isLight = from.startsWith('../runtime/') || from === 'commander'
      // small, and of node:fs and runtime alone: the log of a node that runs
      expect(
        isLight || /(commands|usageError|devices\/(journal|steadyOutput))\.js$/.test(from),
        from,
      ).toBe(true)
    }
    const list = readFileSync(join(root, 'src/cli/commands.ts'), 'utf8')
    expect([...list.matchAll(/^import (?!type)/gm)]).toEqual([])
  })
})

describe('the configuration', () => {
  it.each([
    ['argument', ['node.toml'], ['node.toml']],
    ['argument', ['--config', 'node.toml', '--receive-only'], ['--receive-only', 'node.toml']],
    ['argument', ['mark', '--config=node.toml'], ['mark', 'node.toml']],
    ['argument', ['--config'], ['--config']],
    ['option', ['sun', 'node.toml'], ['sun', '--config', 'node.toml']],
    ['option', ['node.toml', 'pass', 'next'], ['pass', 'next', '--config', 'node.toml']],
    ['option', ['sun', '--config', 'node.toml'], ['sun', '--config', 'node.toml']],
    ['option', ['--output', 'x.toml', 'sun'], ['--output', 'x.toml', 'sun']],
    ['option', ['sun'], ['sun']],
    ['none', ['--scenario', 'x.toml'], ['--scenario', 'x.toml']],
  ] as const)('%s: %j', (way, words, expected) => {
    expect(configArgument(way, words)).toEqual(expected)
  })
})
