import { lineReader } from '../connected/lineReader.js'
import type { OpenSession, Peer, Session } from '../connected/session.js'
import type { Exchange, Step } from './exchange.js'

/** Longest line with its seal; what is longer is no line of ours. */
const lineOctetsMax = 300

/**
 * An exchange over a connection.
 * @param onOver told once how it ended: 'complete', or why not
 */
export const hillSession =
  (running: Exchange, onOver: (how: string) => void): OpenSession =>
  (peer) =>
    new HillSession(running, peer, onOver)

class HillSession implements Session {
  private readonly reader = lineReader(lineOctetsMax)
  private over = false

  constructor(
    private readonly running: Exchange,
    private readonly peer: Peer,
    private readonly onOver: (how: string) => void,
  ) {}

  begin(): void {
    this.perform(this.running.begin())
  }

  receive(octets: Uint8Array): void {
    for (const line of this.reader.push(octets)) {
      if (this.over) return
      if (line.ok) this.perform(this.running.take(line.text))
      else this.finish('a line that is too long')
    }
  }

  drained(): void {}

  /** What was said before may be lost: the next session finds out what was kept. */
  reset(): void {
    this.finish('the link began anew')
  }

  ended(): void {
    this.finish('the connection ended')
  }

  private perform({ lines, over }: Step): void {
    const text = lines.map((line) => `${line}\r`).join('')
    const isWritten = text === '' || this.peer.write(new TextEncoder().encode(text))
    if (over !== undefined) this.finish(over)
    else if (!isWritten) this.finish('too much waits for the other')
  }

  private finish(how: string): void {
    if (this.over) return
    this.over = true
    this.onOver(how)
    this.peer.close()
  }
}
