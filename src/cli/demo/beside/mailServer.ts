import { createServer, type Socket } from 'node:net'

/** A mail server for a story, on loopback. */
export interface StoryMailServer {
  readonly port: number
  close(): Promise<void>
}

/** A mail of a story is some hundred octets. */
const octetsMax = 100_000

/**
 * Takes every mail that it is given and shows it: as much of SMTP as a submission needs (RFC 5321, 4.1 and 4.5.2), without TLS or login.
 * @param isLinked false: each connection is cut, as by a link that is away
 * @param onMail headers and text as they came, lines ended by LF
 */
export async function startMailServer(
  isLinked: () => boolean,
  onMail: (mail: string) => void,
): Promise<StoryMailServer> {
  const open = new Set<Socket>()
  const server = createServer((socket) => {
    open.add(socket)
    socket.on('close', () => open.delete(socket))
    socket.on('error', () => {})
    if (isLinked()) serve(socket, onMail)
    else socket.destroy()
  })
  await new Promise<void>((resolve, reject) => {
    server.once('error', reject)
    server.listen(0, '127.0.0.1', resolve)
  })
  return {
    port: (server.address() as { port: number }).port,
    close: () =>
      new Promise((resolve) => {
        for (const socket of open) socket.destroy()
        server.close(() => resolve())
      }),
  }
}

function serve(socket: Socket, onMail: (mail: string) => void): void {
  let unread = ''
  /** lines of a mail; undefined between mails */
  let mail: string[] | undefined
  const say = (reply: string): void => void socket.write(`${reply}\r\n`)

  const takeLine = (line: string): void => {
    if (mail === undefined) command(line)
    else if (line !== '.') mail.push(line.startsWith('.') ? line.slice(1) : line)
    else {
      onMail(mail.join('\n'))
      mail = undefined
      say('250 taken')
    }
  }
  const command = (line: string): void => {
    switch (line.slice(0, 4).toUpperCase()) {
      case 'EHLO':
      case 'HELO':
      case 'MAIL':
      case 'RCPT':
      case 'RSET':
      case 'NOOP':
        say('250 OK')
        break
      case 'DATA':
        mail = []
        say('354 go on, a line with only a dot ends it')
        break
      case 'QUIT':
        say('221 bye')
        socket.end()
        break
      default:
        say('502 not here')
    }
  }
  socket.on('data', (octets) => {
    unread += octets.toString('utf8')
    if (unread.length > octetsMax) socket.destroy()
    for (let end = unread.indexOf('\r\n'); end >= 0; end = unread.indexOf('\r\n')) {
      const line = unread.slice(0, end)
      unread = unread.slice(end + 2)
      takeLine(line)
    }
  })
  say('220 a mail server of this story')
}
