import { spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { commands } from '../../src/cli/commands.js'
import { completionCommand } from '../../src/cli/completion/completion.js'
import { completionTable } from '../../src/cli/completion/completionTable.js'
import { runCommand } from './commandBench.js'

/*
 * The scripts in the shells that they are for: what each of them offers where somebody presses the tab key.
 */

const isThere = (shell: string): boolean => spawnSync(shell, ['-c', 'exit 0']).status === 0
const missing = ['bash', 'zsh', 'fish'].filter((shell) => !isThere(shell))
if (missing.length > 0)
  console.log(`Completion is not tried in ${missing.join(', ')}: not installed.`)

let folder: string
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-completion-'))
  for (const shell of ['bash', 'zsh', 'fish']) {
    const { stdout, exitCode } = await runCommand(completionCommand, [shell])
    expect(exitCode).toBe(0)
    writeFileSync(join(folder, shell), stdout)
  }
  writeFileSync(join(folder, 'my day.wav'), '')
})
afterAll(() => rmSync(folder, { recursive: true }))

function run(shell: string, script: string, ...words: readonly string[]): string[] {
  const name = shell === 'zsh' ? ['-f'] : []
  const done = spawnSync(shell, [...name, '-c', script, ...words], {
    ...{ cwd: folder, encoding: 'utf8', timeout: 20_000 },
    env: { ...process.env, HOME: folder, XDG_CONFIG_HOME: folder, TERM: 'dumb' },
  })
  expect(done.stderr).toBe('')
  return done.stdout.split('\n').filter((line) => line !== '')
}

/** @param words the line as bash takes it apart, its last word being the one to complete */
const inBash = (...words: readonly string[]): string[] =>
  run(
    'bash',
    `source ./bash; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _ridgepost; printf "%s\\n" "\${COMPREPLY[@]}"`,
    ...['bash', 'ridgepost', ...words],
  )

const inFish = (line: string): string[] =>
  run('fish', 'source ./fish; complete -C $argv[1]', `ridgepost ${line}`).map(
    (offered) => offered.split('\t')[0]!,
  )

/** What stands on the line of a real terminal when the tab key was pressed. @param wanted ends the waiting */
const inZsh = (line: string, wanted: string): string =>
  run(
    'zsh',
    `zmodload zsh/zpty
zpty shell zsh -f -i
zpty -w shell "PS1=; autoload -U compinit; compinit -u -D; source ./zsh; print read''y"
zpty -r -m shell before '*ready*'
zpty -w -n shell "ridgepost $1"$'\\t'
zpty -r -m shell after "*$2*"
print -r -- "$after"
zpty -d shell`,
    ...['zsh', line, wanted],
  ).join('\n')

describe('the table of what can be completed', () => {
  it('has every command with its options, and what their values may be', async () => {
    const table = await completionTable()
    expect(table.map(({ name }) => name)).toEqual([...Object.keys(commands), 'help'])
    const decode = table.find(({ name }) => name === 'decode')!
    const completedBy = (name: string) => decode.options.find((one) => one.name === name)?.value
    expect(completedBy('--repair')).toEqual({ kind: 'words', words: ['none', 'careful', 'eager'] })
    expect(completedBy('--report')).toEqual({ kind: 'file' })
    expect(completedBy('--rate')).toEqual({ kind: 'text' })
    expect(completedBy('--help')).toBeUndefined()
    expect(decode.arguments).toEqual([{ kind: 'file' }])
    for (const { name, options } of table.filter((one) => commands[one.name]?.config !== 'none'))
      if (name !== 'help')
        expect(
          options.map((one) => one.name),
          name,
        ).toContain('--config')
  })

  it('a shell that is not known is refused', async () => {
    expect((await runCommand(completionCommand, ['csh'])).exitCode).toBe(2)
  })
})

describe.skipIf(missing.includes('bash'))('in bash', () => {
  it('completes commands, options and values', () => {
    expect(inBash('dec')).toEqual(['decode'])
    expect(inBash('decode', '--rep')).toEqual(['--repair', '--report'])
    expect(inBash('decode', '--format', '')).toEqual(['human', 'json', 'line'])
    expect(inBash('decode', '--format', '=', 'j')).toEqual(['json'])
    expect(inBash('decode', '--format', '=')).toEqual(['human', 'json', 'line'])
    expect(inBash('decode', '--rate', '')).toEqual([])
    expect(inBash('completion', 'z')).toEqual(['zsh'])
    expect(inBash('help', 'dem')).toEqual(['demo'])
    expect(inBash('nonsense', '')).toEqual([])
  })

  it('completes files, with blanks in their names', () => {
    expect(inBash('decode', 'my')).toEqual(['my day.wav'])
    expect(inBash('decode', '--output', 'my')).toEqual(['my day.wav'])
    expect(inBash('run', '--config', 'my')).toEqual(['my day.wav'])
  })
})

describe.skipIf(missing.includes('fish'))('in fish', () => {
  it('completes commands, options, values and files', () => {
    expect(inFish('dec')).toEqual(['decode'])
    expect(inFish('decode --rep')).toEqual(['--repair', '--report'])
    expect(inFish('decode --format ')).toEqual(['human', 'json', 'line'])
    expect(inFish('decode --rate ')).toEqual([])
    expect(inFish('completion z')).toEqual(['zsh'])
    // Not the options of a command whose name is another one's word.
    expect(inFish('ask decode --rep')).toEqual([])
    expect(inFish('decode my')).toEqual(['my day.wav'])
  })
})

describe.skipIf(missing.includes('zsh'))('in zsh', () => {
  it('completes commands, options and values', () => {
    expect(inZsh('dec', 'decode ')).toContain('decode ')
    expect(inZsh('decode --repa', '--repair')).toContain('--repair')
    expect(inZsh('decode --repair ea', 'eager')).toContain('eager')
    expect(inZsh('decode my', 'day.wav')).toContain('my\\ day.wav')
    expect(inZsh('completion f', 'fish')).toContain('fish')
  })
})
