import { chmodSync, rmSync, statSync } from 'node:fs'
import { connect, type Server } from 'node:net'

/** Owner and group. */
const socketMode = 0o660

/**
 * Makes way for a socket: what a process that died left behind is taken away. A socket that somebody answers stays, so that two
 * nodes do not take it from each other, and so does another kind of file.
 * @throws Error that says what stands there
 */
async function clearSocketPath(path: string): Promise<void> {
  const found = statSync(path, { throwIfNoEntry: false })
  if (found === undefined) return
  if (!found.isSocket()) throw new Error('a file that is not a socket stands there')
  if (!(await isLeftBehind(path))) throw new Error('another process listens there')
  rmSync(path, { force: true })
}

/** Only a refusal says that nobody listens: a full queue or a missing right says nothing of it. */
const isLeftBehind = (path: string): Promise<boolean> =>
  new Promise((resolve) => {
    const socket = connect(path)
    socket.once('connect', () => {
      socket.destroy()
      resolve(false)
    })
    socket.once('error', ({ code }: NodeJS.ErrnoException) =>
      resolve(code === 'ECONNREFUSED' || code === 'ENOENT'),
    )
  })

/**
 * Listens at a path that its owner and its group may use, nobody else; see clearSocketPath for what stands there.
 * @throws Error when it cannot be had
 */
export async function listenAtPath(server: Server, path: string): Promise<void> {
  await clearSocketPath(path)
  await new Promise<void>((resolve, reject) => {
    server.once('error', reject)
    // The socket is made within the call: nobody else may connect before its mode is set, and no other file gets this one.
    const before = process.umask(0o117)
    server.listen(path, () => {
      server.off('error', reject)
      resolve()
    })
    process.umask(before)
  })
  chmodSync(path, socketMode)
}
