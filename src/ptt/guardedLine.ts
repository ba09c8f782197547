import { type ChildProcess, spawn } from 'node:child_process'
import { createReopening, type Reopening, type Waits } from '../devices/reopening.js'
import { type Cancel, type Clock, every } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import { entryFile } from '../runtime/installation.js'
import { openEdgeLog } from './edgeLog.js'
import {
  type FaultDetail,
  firstLines,
  type HelperCommand,
  type HelperOptions,
  type HelperWord,
  lineSplitter,
  parseHelperWord,
} from './helperProtocol.js'
import type { KeyLine, KeyLineListener } from './keyLine.js'
import { openPttOutput } from './openOutput.js'

export interface GuardedLineOptions {
  readonly ptt: HelperOptions
  readonly clock: Clock
  /** the compiled helper; the one beside this file by default */
  readonly helperFile?: string | undefined
}

/** A sign of life that often: three may be late before the shortest dead-man acts. */
const feedMs = 25
/** A helper that does not answer by then is taken for stuck, and ended. */
const answerMsMax = 200
const restartMs: Waits = { first: 500, longest: 30_000 }
const endMsMax = 2000

/**
 * A key line owned by a helper process, which releases it when this process dies, stops or hangs, and which is
 * replaced when it dies itself.
 */
export function guardedLine(options: GuardedLineOptions): KeyLine {
  return new GuardedLine(options)
}

interface Waiter<Value> {
  resolve(value: Value): void
  reject(error: Failure): void
}

class GuardedLine implements KeyLine {
  readonly name: string
  private listener: KeyLineListener | undefined
  private helper: ChildProcess | undefined
  private ready = false
  /** how often this helper has told that it cut the line */
  private cutsKnown = 0
  private closing = false
  private keying: Waiter<number> | undefined
  private unkeying: Waiter<number>[] = []
  private lastFault = ''
  private lastDetail: FaultDetail | undefined
  private stopFeeding: Cancel = () => {}
  private stopWaiting: Cancel = () => {}
  private readonly restarting: Reopening
  private exited: Promise<void> = Promise.resolve()

  constructor(private readonly options: GuardedLineOptions) {
    this.restarting = createReopening(options.clock, restartMs, () => this.startHelper())
    const { kind, device, line } = options.ptt
    this.name = [kind, device, line].filter((part) => part !== undefined && part !== '').join(' ')
  }

  open(listener: KeyLineListener): void {
    this.listener = listener
    this.startHelper()
  }

  key(): Promise<number> {
    if (!this.ready) return Promise.reject(this.failure('it is not ready'))
    this.tell(`key ${this.cutsKnown}`)
    this.stopFeeding()
    this.stopFeeding = every(this.options.clock, feedMs, () => this.tell('feed'))
    return new Promise((resolve, reject) => {
      this.keying = { resolve, reject }
    })
  }

  unkey(): Promise<number> {
    return new Promise((resolve, reject) => {
      this.unkeying.push({ resolve, reject })
      // Without a helper the line is being released already, here or by the next helper.
      if (this.helper === undefined) return
      this.tell('unkey')
      if (this.unkeying.length > 1) return
      const { clock } = this.options
      this.stopWaiting = clock.at(clock.monotonicMs() + answerMsMax, () => {
        this.lastFault = `it did not answer within ${answerMsMax} ms`
        this.lastDetail = undefined
        this.helper?.kill('SIGKILL')
      })
    })
  }

  async close(): Promise<void> {
    this.closing = true
    this.restarting.cancel()
    this.stopFeeding()
    const helper = this.helper
    if (helper === undefined) {
      await this.releaseHere('at the end').catch(() => {})
      return
    }
    helper.stdin?.end()
    const { clock } = this.options
    const cancel = clock.at(clock.monotonicMs() + endMsMax, () => helper.kill('SIGKILL'))
    await this.exited
    cancel()
  }

  private startHelper(): void {
    const file = this.options.helperFile ?? entryFile('deadManHelper')
    const words = [file, JSON.stringify(this.options.ptt)]
    // Its own session: a stop or an interrupt from the terminal, meant for all, must not reach it.
    const helper = spawn(process.execPath, words, {
      stdio: ['pipe', 'pipe', 'pipe'],
      detached: true,
    })
    this.helper = helper
    this.lastFault = ''
    this.lastDetail = undefined
    helper.stdin.on('error', () => {})
    helper.stdout.on(
      'data',
      lineSplitter((line) => {
        const word = parseHelperWord(line)
        if (word !== undefined && this.helper === helper) this.hear(word)
      }),
    )
    // What Node itself says of the helper goes where its owner's faults go, with their time and in their form.
    helper.stderr.on(
      'data',
      firstLines(helperLinesMax, (text) => this.listener?.onFault(`its helper: ${text}`)),
    )
    this.exited = new Promise((resolve) => {
      const gone = (how: string): void => {
        if (this.helper !== helper) return
        this.helper = undefined
        void this.lost(how).finally(resolve)
      }
      helper.once('error', (error) => gone(errorText(error)))
      helper.once('close', (code, signal) =>
        gone(code === null ? `signal ${signal}` : `status ${code}`),
      )
    })
  }

  private hear(word: HelperWord): void {
    switch (word.word) {
      case 'ready':
        this.ready = true
        this.cutsKnown = 0
        this.restarting.sound()
        this.settleUnkeyed(this.options.clock.monotonicMs())
        this.listener?.onReady()
        break
      case 'keyed':
        this.keying?.resolve(word.atMs)
        this.keying = undefined
        break
      case 'refused':
        this.notKeyed(this.failure(word.reason))
        break
      case 'unkeyed':
        this.cutsKnown = word.cutCount
        this.notKeyed(this.failure('unkeyed meanwhile'))
        this.settleUnkeyed(word.atMs)
        break
      case 'cut':
        this.cutsKnown = word.cutCount
        this.notKeyed(this.failure(word.reason))
        // Also while an unkeying is under way: it was asked for by an owner who did not know of this.
        if (!this.closing) this.listener?.onCut(word.atMs, word.reason)
        break
      case 'fault':
        this.lastFault = word.reason
        this.lastDetail = word.detail
        if (this.ready) this.listener?.onFault(word.reason)
    }
  }

  private notKeyed(failure: Failure): void {
    this.stopFeeding()
    this.keying?.reject(failure)
    this.keying = undefined
  }

  private settleUnkeyed(atMs: number): void {
    this.stopWaiting()
    for (const { resolve } of this.unkeying) resolve(atMs)
    this.unkeying = []
  }

  /** The helper is gone: its guard with it, so release the line from here, at once. */
  private async lost(how: string): Promise<void> {
    this.ready = false
    this.stopWaiting()
    const failure = this.failure(
      this.lastFault === '' ? `its helper ended (${how})` : this.lastFault,
    )
    this.notKeyed(failure)
    if (!this.closing) this.listener?.onLost(failure)
    // It has released the line itself, as it was told to.
    else if (how === 'status 0') return
    try {
      await this.releaseHere('the helper is gone')
      const atMs = this.options.clock.monotonicMs()
      if (this.unkeying.length === 0 && !this.closing) this.listener?.onCut(atMs, failure.message)
      this.settleUnkeyed(atMs)
    } catch (error) {
      if (this.lastFault === '') this.listener?.onFault(errorText(error))
    }
    if (this.closing) return
    this.restarting.later()
  }

  private async releaseHere(why: string): Promise<void> {
    const { clock, ptt } = this.options
    for (let tries = 1; ; tries++) {
      try {
        const output = await openPttOutput(ptt, clock)
        this.noteReleased(why)
        await output.close()
        return
      } catch (error) {
        // What the helper left behind may not have let go of the device yet.
        if (tries === releaseTriesMax) throw error
        await new Promise<void>((resolve) => {
          clock.at(clock.monotonicMs() + releaseAgainMs, resolve)
        })
      }
    }
  }

  /** A log that cannot be written must keep no device open: the next helper could not have it. */
  private noteReleased(why: string): void {
    const { clock, ptt } = this.options
    if (ptt.logFile === '') return
    try {
      const log = openEdgeLog(ptt.logFile, clock)
      log.write('unkeyed', why)
      log.close()
    } catch {
      // The helper says so, in words, each time that it cannot begin.
    }
  }

  private tell(command: HelperCommand): void {
    // A pipe that is full has a stopped helper at its other end: more words would not wake it.
    const { stdin } = this.helper ?? {}
    if (stdin?.writable && stdin.writableLength < pipeOctetsMax) stdin.write(`${command}\n`)
  }

  /** What the helper said of a device is told once: as this line's own fault, not as a message within a message. */
  private failure(got: string): Failure {
    const subject = `key line (${this.name})`
    const detail = this.lastDetail
    if (detail === undefined || got !== this.lastFault)
      return new Failure({
        code: 'ptt-line',
        subject,
        got,
        expected: 'a line that can be switched',
      })
    const isNamed = this.name.includes(detail.subject)
    return new Failure({
      ...detail,
      code: 'ptt-line',
      subject: isNamed ? subject : `${subject}: ${detail.subject}`,
    })
  }
}

const pipeOctetsMax = 4096
/** Of one helper's standard error; a helper that floods it is read on, and not passed on. */
const helperLinesMax = 20
const releaseTriesMax = 5
const releaseAgainMs = 20
