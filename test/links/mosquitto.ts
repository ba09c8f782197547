import { type ChildProcess, spawn, spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { answers, freePort } from '../../src/cli/demo/beside/broker.js'
import { certificateFile, keyFile } from './smtpServer.js'

/** Debian's place for it is on the path of root only. */
const program = ['/usr/sbin/mosquitto', 'mosquitto'].find(
  (one) => spawnSync(one, ['-h']).error === undefined,
)

/** Why the tests with a real broker are skipped; undefined where they are not. */
export const noMosquitto =
  program === undefined ? 'needs the broker of the package mosquitto' : undefined

export interface TestBroker {
  readonly port: number
  close(): Promise<void>
}

/** A real broker on a free port of loopback. @param more lines of its configuration */
export async function mosquitto(
  options: { readonly port?: number; readonly tls?: boolean; readonly login?: boolean } = {},
): Promise<TestBroker> {
  const port = options.port ?? (await freePort())
  const folder = mkdtempSync(join(tmpdir(), 'mosquitto-'))
  const file = join(folder, 'mosquitto.conf')
  const lines = [`listener ${port} 127.0.0.1`, 'persistence false', 'user root']
  if (options.tls) lines.push(`certfile ${certificateFile()}`, `keyfile ${keyFile()}`)
  if (options.login) {
    // The user 'hill' with the password 'secret', by the program's own tool.
    const passwords = join(folder, 'passwords')
    spawnSync('mosquitto_passwd', ['-b', '-c', passwords, 'hill', 'secret'])
    lines.push('allow_anonymous false', `password_file ${passwords}`)
  } else lines.push('allow_anonymous true')
  writeFileSync(file, `${lines.join('\n')}\n`)
  const child: ChildProcess = spawn(program!, ['-c', file], { stdio: 'ignore' })
  const ended = new Promise<void>((resolve) => child.once('exit', () => resolve()))
  while (child.exitCode === null && !(await answers(port)))
    await new Promise((resolve) => setTimeout(resolve, 20))
  return {
    port,
    async close() {
      child.kill()
      await ended
      rmSync(folder, { recursive: true, force: true })
    },
  }
}
