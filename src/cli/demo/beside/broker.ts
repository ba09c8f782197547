import { type ChildProcess, spawn } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { connect, createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { Failure } from '../../../runtime/failure.js'

/** A real broker for a story, on a free port of loopback. */
export interface StoryBroker {
  readonly port: number
  close(): Promise<void>
}

/** Debian's place for it is on the path of root only. */
const programs = ['/usr/sbin/mosquitto', 'mosquitto']
const triesMax = 250
const tryEveryMs = 40

/** @throws Failure 'broker-missing' where Debian's mosquitto is not installed, or does not come up */
export async function startBroker(): Promise<StoryBroker> {
  const folder = mkdtempSync(join(tmpdir(), 'ridgepost-broker-'))
  const port = await freePort()
  const file = join(folder, 'broker.conf')
  const lines = [`listener ${port} 127.0.0.1`, 'persistence false', 'allow_anonymous true']
  writeFileSync(file, `${lines.join('\n')}\n`)
  const remove = (): void => rmSync(folder, { recursive: true, force: true })
  for (const program of programs) {
    const child = spawn(program, ['-c', file], { stdio: 'ignore' })
    const ended = new Promise<void>((resolve) => {
      child.once('exit', () => resolve())
      child.once('error', () => resolve())
    })
    if (await isUp(child, port))
      return {
        port,
        async close() {
          child.kill()
          await ended
          remove()
        },
      }
    child.kill()
  }
  remove()
  throw new Failure({
    code: 'broker-missing',
    subject: 'the broker of this story',
    problem: 'mosquitto does not start',
    advice: 'install it: apt install mosquitto; the other scenarios need none',
  })
}

async function isUp(child: ChildProcess, port: number): Promise<boolean> {
  let failed = false
  child.once('error', () => {
    failed = true
  })
  for (let tried = 0; tried < triesMax && !failed && child.exitCode === null; tried++) {
    if (await answers(port)) return true
    await new Promise((resolve) => setTimeout(resolve, tryEveryMs))
  }
  return false
}

/** A port of loopback that nobody listens at. */
export const freePort = (): Promise<number> =>
  new Promise((resolve, reject) => {
    const server = createServer()
    server.once('error', reject)
    server.listen(0, '127.0.0.1', () => {
      const { port } = server.address() as { port: number }
      server.close(() => resolve(port))
    })
  })

/** Whether anybody listens there. */
export const answers = (port: number): Promise<boolean> =>
  new Promise((resolve) => {
    const socket = connect(port, '127.0.0.1')
    socket.once('connect', () => {
      socket.destroy()
      resolve(true)
    })
    socket.once('error', () => resolve(false))
  })
