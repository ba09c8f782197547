import { PassThrough } from 'node:stream'
import { expect, it } from 'vitest'
import { passwordCommand } from '../../src/cli/password.js'
import { parseConfig } from '../../src/config/load.js'
import { passwordIs, tokenHash } from '../../src/web/password.js'
import { runCommand } from './commandBench.js'

const typed = (text: string) => {
  const stdin = new PassThrough()
  stdin.end(text)
  return { stdin }
}

it('prints what the configuration takes, and that opens the page', async () => {
  const { stdout } = await runCommand(passwordCommand, [], typed('four quite plain words\n'))
  const { page } = parseConfig(stdout, 'node.toml')
  expect(await passwordIs('four quite plain words', page.passwordHash)).toBe(true)
  expect(await passwordIs('four quite plain word', page.passwordHash)).toBe(false)
})

it('prints a token with its hash', async () => {
  const { stdout } = await runCommand(passwordCommand, ['--token', 'dashboard', '--control'])
  const token = /shown again: (\S+)/.exec(stdout)![1]!
  const { page } = parseConfig(stdout.slice(stdout.indexOf('[[page')), 'node.toml')
  expect(page.token).toEqual([{ name: 'dashboard', sha256: tokenHash(token), scope: 'control' }])
})

it('refuses what is too short', async () => {
  const { stderr, exitCode } = await runCommand(passwordCommand, [], typed('short\n'))
  expect(stderr).toMatch(/got 5 characters, expected 10 to 200/)
  expect(exitCode).toBe(2)
})
