import { createWriteStream } from 'node:fs'
import { unwritable } from '../../devices/replaceFile.js'
import type { Failure } from '../../runtime/failure.js'

/** Text to a stream whose reader may be slow, or leave: `decode … | head`. */
export interface TextOutput {
  /** Takes text at once; await ready() now and then, so that it does not pile up. */
  write(text: string): void
  /** Settles when the stream can take more. @throws Failure when the medium is full or fails */
  ready(): Promise<void>
  /** the reader has left: nothing more need be made */
  readonly isGone: boolean
  /** Settles when everything is handed over; closes what openTextFile opened. @throws Failure as ready does */
  end(): Promise<void>
}

/** A stream that belongs to somebody else, standard output for one; it stays open. */
export function textOutput(stream: NodeJS.WritableStream, name: string): TextOutput {
  return output(stream, name, false)
}

/**
 * A text file, written anew.
 * @throws Failure 'output-unwritable' (as a rejection)
 */
export function openTextFile(path: string): Promise<TextOutput> {
  return new Promise((resolve, reject) => {
    const stream = createWriteStream(path)
    stream.once('error', (cause) => reject(unwritable(path, cause)))
    stream.once('open', () => resolve(output(stream, path, true)))
  })
}

function output(stream: NodeJS.WritableStream, name: string, isOurs: boolean): TextOutput {
  let fault: Failure | undefined
  let isGone = false
  let pending: Promise<void> | undefined
  let wake = (): void => {}
  const onError = (cause: NodeJS.ErrnoException): void => {
    if (cause.code === 'EPIPE') isGone = true
    else fault = unwritable(name, cause)
    wake()
  }
  const onDrain = (): void => wake()
  stream.on('error', onError).on('drain', onDrain)

  const check = (): void => {
    if (fault !== undefined) throw fault
  }
  return {
    write(text) {
      if (isGone || fault !== undefined || stream.write(text)) return
      pending ??= new Promise((resolve) => {
        wake = () => {
          pending = undefined
          resolve()
        }
      })
    },
    async ready() {
      await pending
      check()
    },
    get isGone() {
      return isGone
    },
    async end() {
      await pending
      if (isOurs) await new Promise<void>((resolve) => stream.end(() => resolve()))
      // The error handler stays on a stream of somebody else: its reader may leave later still.
      check()
    },
  }
}
