import { connect, type Socket } from 'node:net'

/**
 * A KISS client of the tests' own, written with a plain socket from the 1987 paper and none of our code:
 * FEND C0, FESC DB, TFEND DC, TFESC DD.
 */
export interface PlainClient {
  readonly socket: Socket
  /** frames as the type octet followed by the data */
  readonly frames: readonly Buffer[]
  send(typeOctet: number, data: Uint8Array): void
  sendRaw(octets: Uint8Array): void
  /** resolves once `count` frames have come in all */
  heard(count: number): Promise<readonly Buffer[]>
  /** resolves once the server hung up */
  readonly gone: Promise<void>
  close(): void
}

export async function plainClient(port: number, host = '127.0.0.1'): Promise<PlainClient> {
  const socket = connect(port, host)
  const frames: Buffer[] = []
  const waiters: { count: number; resolve: () => void }[] = []
  let unfinished = Buffer.alloc(0)
  socket.on('data', (chunk: Buffer) => {
    unfinished = Buffer.concat([unfinished, chunk])
    for (;;) {
      const end = unfinished.indexOf(0xc0)
      if (end < 0) break
      const frame = unescaped(unfinished.subarray(0, end))
      unfinished = unfinished.subarray(end + 1)
      if (frame.length > 0) frames.push(frame)
    }
    for (const waiter of waiters) if (frames.length >= waiter.count) waiter.resolve()
  })
  socket.on('error', () => {})
  const gone = new Promise<void>((resolve) => socket.on('close', () => resolve()))
  await new Promise<void>((resolve, reject) => {
    socket.once('connect', resolve)
    socket.once('error', reject)
  })
  return {
    socket,
    frames,
    gone,
    sendRaw: (octets) => void socket.write(octets),
    send: (typeOctet, data) => void socket.write(kissOctets(typeOctet, data)),
    heard: (count) =>
      new Promise((resolve) => {
        const done = (): void => resolve(frames)
        if (frames.length >= count) done()
        else waiters.push({ count, resolve: done })
      }),
    close: () => void socket.destroy(),
  }
}

/** One frame on the wire. */
export function kissOctets(typeOctet: number, data: Uint8Array): Buffer {
  const escaped = [typeOctet, ...data].flatMap((octet) =>
    octet === 0xc0 ? [0xdb, 0xdc] : octet === 0xdb ? [0xdb, 0xdd] : [octet],
  )
  return Buffer.from([0xc0, ...escaped, 0xc0])
}

function unescaped(octets: Buffer): Buffer {
  const plain: number[] = []
  for (let at = 0; at < octets.length; at++) {
    if (octets[at] === 0xdb) plain.push(octets[++at] === 0xdc ? 0xc0 : 0xdb)
    else plain.push(octets[at]!)
  }
  return Buffer.from(plain)
}

/** Collects lines of text, and lets a test wait for one instead of sleeping. */
export function eventLog(): { add(text: string): void; next(pattern: RegExp): Promise<string> } {
  const waiting: { pattern: RegExp; resolve: (text: string) => void }[] = []
  const unread: string[] = []
  const match = (): void => {
    const first = waiting[0]
    if (first === undefined) return
    const at = unread.findIndex((text) => first.pattern.test(text))
    if (at < 0) return
    const text = unread[at]!
    unread.splice(0, at + 1)
    waiting.shift()
    first.resolve(text)
    match()
  }
  return {
    add(text) {
      unread.push(text)
      match()
    },
    next: (pattern) =>
      new Promise((resolve) => {
        waiting.push({ pattern, resolve })
        match()
      }),
  }
}
