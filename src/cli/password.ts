import { createInterface } from 'node:readline'
import { PassThrough, Writable } from 'node:stream'
import { Command } from 'commander'
import type { Edges } from '../devices/edges.js'
import { hashPassword, newToken, passwordCharactersMax, tokenHash } from '../web/password.js'
import { UsageError } from './shared/usageError.js'

interface PasswordFlags {
  readonly token?: string
  readonly control: boolean
}

const charactersMin = 10

/** `ridgepost password`: the hash of the page's password, or a token, as the configuration wants them. */
export function passwordCommand(edges: Edges): Command {
  return new Command('password')
    .description(
      'Print the hash of a password for the page, or a token for scripts. Nothing is stored; put what is printed into the configuration.',
    )
    .option('--token <name>', 'make a token for a script instead')
    .option('--control', 'the token may control, too', false)
    .action(async ({ token, control }: PasswordFlags) => {
      if (token !== undefined) printToken(token, control, edges)
      else await printHash(edges)
    })
}

async function printHash(edges: Edges): Promise<void> {
  const password = await readPassword(edges)
  const count = [...password].length
  if (count < charactersMin || count > passwordCharactersMax)
    throw new UsageError({
      code: 'password-length',
      subject: 'password',
      got: `${count} characters`,
      expected: `${charactersMin} to ${passwordCharactersMax}`,
      advice: 'several words that nobody would guess together are good and easy to type',
    })
  const hash = await hashPassword(password)
  edges.stdout.write(`[page]\npasswordHash = "${hash}"\n`)
}

function printToken(name: string, control: boolean, { stdout }: Edges): void {
  if (!/^[\w .-]{1,40}$/.test(name))
    throw new UsageError({
      code: 'token-name',
      subject: '--token',
      got: JSON.stringify(name),
      expected: '1 to 40 letters, digits, blanks, points or hyphens',
    })
  const token = newToken()
  stdout.write(
    [
      `Token, for the script, not shown again: ${token}`,
      `It goes with each request: Authorization: Bearer ${token}`,
      '',
      '[[page.token]]',
      `name = "${name}"`,
      `sha256 = "${tokenHash(token)}"`,
      `scope = "${control ? 'control' : 'read'}"`,
      '',
    ].join('\n'),
  )
}

/** One line; at a terminal what is typed is not shown. */
async function readPassword({ stdin, stderr }: Edges): Promise<string> {
  const isTerminal = (stdin as { isTTY?: boolean }).isTTY === true
  if (isTerminal) stderr.write('Password: ')
  const unseen = isTerminal ? new Writable({ write: (_, __, done) => done() }) : new PassThrough()
  const lines = createInterface({ input: stdin, output: unseen, terminal: isTerminal })
  try {
    for await (const line of lines) return line
    return ''
  } finally {
    lines.close()
    if (isTerminal) stderr.write('\n')
  }
}
