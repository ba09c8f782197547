import { errorText } from '../../runtime/errorText.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import { keptText } from '../../services/airText.js'
import { agoWords } from '../../services/geo/words.js'
import type { WaitingMessage } from '../../services/service.js'
import type { Letter } from '../../store/letters.js'
import type { Wording } from '../../words/air/wording.js'
import type { Letters } from './letters.js'
import { type LetterWriting, letterWriting } from './letterWriting.js'
import { type LineReader, lineReader, type TypedLine } from './lineReader.js'
import type { Peer, Session } from './session.js'

/** What a terminal needs of the node. */
export interface TerminalParts {
  /** the call that was connected to */
  readonly own: string
  readonly welcome: string
  readonly letters: Letters
  /** short messages that wait for a station */
  readonly messagesFor: (call: string) => readonly WaitingMessage[]
  /** To be called before they are written. @returns false where that could not be noted: then they are not shown */
  readonly messagesShowing: (messages: readonly WaitingMessage[]) => boolean
  /** They were read, and all of them acknowledged. */
  readonly messagesRead: (call: string, messages: readonly WaitingMessage[]) => void
  /** Leaves word for the receiver of a letter, where it is told of messages. */
  readonly tellOfLetter: (from: string, to: string, octetCount: number) => void
  /**
   * Asks the services.
   * @returns whole lines; 'collect' where that is what was meant; never rejects but for a mistake of ours
   */
  readonly ask: (from: string, text: string) => Promise<readonly string[] | 'collect'>
  /** A line that calls for help is marked and told. @returns what it is answered with; undefined for what is none */
  readonly callForHelp: (text: string) => string | undefined
  /** for the log: what a person typed, and what it was answered */
  readonly onAsked: (text: string) => void
  readonly onAnswered: (text: string) => void
  readonly onFault: (text: string, reason: string) => void
  readonly wallMs: () => number
  readonly wording: Wording
}

const lineOctetsMax = 512
/** Lines that may wait while one is answered; the station is asked to wait before that. */
const linesMax = 40
const linesAgain = 10
/** More is not answered before this much has been taken. */
const aheadOctetsMax = 4_000

/** A person at the other end of a connection: a prompt, lines, answers in long form, letters. */
export function terminal(parts: TerminalParts, peer: Peer): Session {
  return new Terminal(parts, peer)
}

class Terminal implements Session {
  private readonly reader: LineReader = lineReader(lineOctetsMax)
  private waiting: TypedLine[] = []
  private answering = false
  private paused = false
  private over = false
  private writing: LetterWriting | undefined
  /** done when all that was written is acknowledged */
  private onceRead: (() => void)[] = []
  /** answers of an earlier life of the link are not written into this one */
  private life = 0

  constructor(
    private readonly parts: TerminalParts,
    private readonly peer: Peer,
  ) {}

  begin(): void {
    const { own, welcome, letters, messagesFor } = this.parts
    const { say } = this.parts.wording
    const { call } = this.peer
    const letterCount = letters
      .waitingFor(call)
      .filter((one) => one.readWallMs === undefined).length
    const messageCount = messagesFor(call).length
    this.say([
      ...(welcome === '' ? [] : [welcome]),
      say('thisIs', { call: own }),
      ...(letterCount === 0 ? [] : [say('newLetters', { count: letterCount })]),
      ...(messageCount === 0 ? [] : [say('messagesForYou', { count: messageCount })]),
      this.prompt,
    ])
  }

  receive(octets: Uint8Array): void {
    if (this.over) return
    const typed = this.reader.push(octets)
    // What comes all the same after the station was asked to wait is bounded, too.
    const room = 2 * linesMax - this.waiting.length
    this.waiting.push(...typed.slice(0, Math.max(0, room)))
    if (typed.length > room) this.say([this.words.say('tooFast')])
    this.goOn()
  }

  drained(): void {
    for (const run of this.onceRead.splice(0)) run()
    this.goOn()
  }

  reset(): void {
    this.life++
    this.reader.reset()
    this.waiting = []
    this.answering = false
    this.paused = false
    this.writing = undefined
    this.onceRead = []
    if (!this.over) this.begin()
  }

  ended(): void {
    this.over = true
    this.life++
  }

  private goOn(): void {
    while (!this.answering && !this.over) {
      // What was asked ahead waits until the station has taken what it got.
      if (this.writing === undefined && this.peer.waitingOctets > aheadOctetsMax) break
      const next = this.waiting.shift()
      if (next === undefined) break
      this.take(next)
    }
    const { length } = this.waiting
    if (!this.paused && length >= linesMax) this.setPaused(true)
    else if (this.paused && length <= linesAgain) this.setPaused(false)
  }

  private setPaused(paused: boolean): void {
    this.paused = paused
    this.peer.setReady(!paused)
  }

  private take(line: TypedLine): void {
    if (!line.ok) {
      const left = this.words.say('lineLeftOut', { most: lineOctetsMax })
      this.say(this.writing === undefined ? [left, this.prompt] : [left])
      return
    }
    const text = line.text.trim()
    // Also in the middle of a letter: better once too often.
    const help = this.parts.callForHelp(text)
    if (this.writing !== undefined) {
      if (help !== undefined) this.say([help])
      this.writeLetter(this.writing, line.text)
      return
    }
    if (text === '') {
      this.write([this.prompt])
      return
    }
    this.parts.onAsked(text)
    if (help !== undefined) {
      this.answer([help])
      return
    }
    const [word = '', ...rest] = text.split(/\s+/)
    const own = this.commands.get(word.toLowerCase())
    if (own === undefined) this.askServices(text)
    else own(rest)
  }

  private readonly commands = new Map<string, (words: readonly string[]) => void>([
    ['bye', () => this.leave()],
    ['quit', () => this.leave()],
    ['exit', () => this.leave()],
    ['letters', () => void this.answer(this.listLetters())],
    ['letter', (words) => this.beginLetter(words)],
    ['read', (words) => this.readLetter(words[0])],
    ['erase', (words) => this.eraseLetter(words[0])],
    ['collect', () => this.readMessages()],
  ])

  private leave(): void {
    this.over = true
    this.write(['73.'])
    this.parts.onAnswered('73.')
    this.peer.close()
  }

  private listLetters(): string[] {
    const all = this.parts.letters.waitingFor(this.peer.call)
    if (all.length === 0) return [this.words.say('noLetters')]
    return [...all.map((letter) => this.titleOf(letter)), this.words.say('letterHow')]
  }

  private titleOf({ id, from, subject, text, leftWallMs, readWallMs }: Letter): string {
    const size = new TextEncoder().encode(text).length
    const ago = agoWords(this.parts.wallMs() - leftWallMs, this.words)
    const title = { number: id, call: from, ago, count: size, subject }
    return readWallMs === undefined
      ? this.words.say('letterTitleNew', title)
      : this.words.say('letterTitle', title)
  }

  private letterOf(word: string | undefined): Letter | undefined {
    const id = Number(word)
    const letter = Number.isInteger(id) ? this.parts.letters.find(this.peer.call, id) : undefined
    if (letter === undefined) {
      const named = keptText(word ?? '').slice(0, 20) || this.words.say('which')
      this.answer([this.words.say('whichLetter', { word: named })])
    }
    return letter
  }

  private readLetter(word: string | undefined): void {
    const letter = this.letterOf(word)
    if (letter === undefined) return
    if (!this.parts.letters.showing(letter)) {
      this.answer([this.words.say('lettersOutOfOrder')])
      return
    }
    const lines = [
      this.titleOf(letter),
      ...letter.text.split('\n'),
      this.words.say('endOfLetter', { number: letter.id }),
    ]
    if (!this.answer(lines, this.titleOf(letter))) return
    this.onceRead.push(() => this.parts.letters.read(letter, this.peer.call))
  }

  private eraseLetter(word: string | undefined): void {
    const letter = this.letterOf(word)
    if (letter === undefined) return
    const gone = this.parts.letters.remove(letter, this.peer.call)
    this.answer([
      gone
        ? this.words.say('letterErased', { number: letter.id })
        : this.words.say('lettersOutOfOrder'),
    ])
  }

  private beginLetter([word, ...subject]: readonly string[]): void {
    const { letters } = this.parts
    const to = word === undefined ? undefined : letters.receiverOf(word.toUpperCase())
    if (to === undefined) {
      this.answer([
        word === undefined ? this.words.say('letterForWhom') : this.words.say('noLetterTo'),
      ])
      return
    }
    const reason = letters.refusalOf(this.peer.call, to)
    if (reason !== undefined) {
      this.answer([reason])
      return
    }
    const { call } = this.peer
    const onKept = (_: number, octetCount: number): void =>
      this.parts.tellOfLetter(call, to, octetCount)
    this.writing = letterWriting(letters, call, to, subject.join(' '), onKept, this.words)
    this.say([
      subject.length === 0
        ? this.words.say('letterSubject', { call: to })
        : this.words.say('letterText', { call: to }),
    ])
  }

  private writeLetter(writing: LetterWriting, text: string): void {
    const { lines, over } = writing.line(text)
    if (over) this.writing = undefined
    const all = over ? [...lines, this.prompt] : lines
    if (all.length > 0) this.say(all)
  }

  private readMessages(): void {
    const messages = this.parts.messagesFor(this.peer.call)
    if (messages.length === 0) {
      this.answer([`${this.words.say('noMessages')}.`])
      return
    }
    if (!this.parts.messagesShowing(messages)) {
      this.answer([this.words.say('mailboxOutOfOrder')])
      return
    }
    const nowMs = this.parts.wallMs()
    const lines = messages.map(({ from, text, leftWallMs, shown }) =>
      this.words.say(shown === true ? 'messageFromAgain' : 'messageFrom', {
        ...{ call: from, ago: agoWords(nowMs - leftWallMs, this.words), text },
      }),
    )
    if (this.answer(lines))
      this.onceRead.push(() => this.parts.messagesRead(this.peer.call, messages))
  }

  private askServices(text: string): void {
    const { life } = this
    this.answering = true
    const finish = (answer: readonly string[] | 'collect'): void => {
      // The connection began anew, or is over: nobody waits for this any more.
      if (life !== this.life) return
      this.answering = false
      if (answer === 'collect') this.readMessages()
      else this.answer(answer)
      this.goOn()
    }
    this.parts.ask(this.peer.call, text).then(finish, (error: unknown) => {
      this.parts.onFault(text, errorText(error))
      finish([this.words.say('failedHere')])
    })
  }

  /** @returns false where it found no room: it was not written, and the station is told so */
  private answer(lines: readonly string[], logged = lines.join(' / ')): boolean {
    const written = this.say([...lines, this.prompt])
    this.parts.onAnswered(written ? logged : this.words.say('tooMuch'))
    return written
  }

  private say(lines: readonly string[]): boolean {
    if (this.write(lines)) return true
    this.write([this.words.say('tooMuch'), this.prompt])
    return false
  }

  private get words(): Wording {
    return this.parts.wording
  }

  private get prompt(): string {
    return `${this.parts.own}>`
  }

  private write(lines: readonly string[]): boolean {
    // Others wrote some of it, and it goes to a terminal.
    return this.peer.write(new TextEncoder().encode(`${lines.map(harmlessText).join('\r')}\r`))
  }
}
