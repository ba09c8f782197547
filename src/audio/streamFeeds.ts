/* Raw PCM from receivers that are programs: standard input, FIFOs, UNIX and TCP sockets. */

import { closeSync, constants, createReadStream, fstatSync, openSync } from 'node:fs'
import { createConnection, Socket } from 'node:net'
import type { Readable } from 'node:stream'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import { gatheredReading } from './gatheredReading.js'
import type { Feed, FeedEvents } from './liveSource.js'

/** Standard input: ends for good when its writer does. */
export function standardInputFeed(stream: Readable, clock: Clock, events: FeedEvents): Feed {
  const onError = (cause: Error): void =>
    events.onLost(streamFailure('standard input', errorText(cause), cause))
  stream.on('error', onError).once('end', events.onEnd)
  const reading = gatheredReading(stream, clock, events.onOctets)
  return {
    gather: reading.gather,
    async close() {
      reading.close()
      stream.pause()
      // An open standard input would keep the process alive.
      if (stream instanceof Socket) stream.unref()
    },
  }
}

/**
 * The process's standard input by its descriptor, which works in a worker thread too.
 * @throws Failure 'audio-stream' when it is a terminal
 */
export function openStandardInput(): Readable {
  const stat = fstatSync(0)
  if (stat.isFIFO() || stat.isSocket())
    return new Socket({ fd: 0, readable: true, writable: false })
  if (stat.isFile()) return createReadStream('', { fd: 0, autoClose: false })
  throw new Failure({
    code: 'audio-stream',
    subject: 'standard input',
    got: 'a terminal or a device',
    expected: 'a pipe or a file with raw PCM',
  })
}

/** A named pipe. When its writer leaves, it is opened anew and waits for the next one. */
export function fifoFeed(path: string, clock: Clock, events: FeedEvents): Feed {
  let socket: Socket | undefined
  try {
    // Without O_NONBLOCK the open would wait for a writer, and everything else with it.
    const descriptor = openSync(path, constants.O_RDONLY | constants.O_NONBLOCK)
    if (!fstatSync(descriptor).isFIFO()) {
      closeSync(descriptor)
      throw new Error('a file that is not a FIFO (mkfifo makes one)')
    }
    socket = new Socket({ fd: descriptor, readable: true, writable: false })
  } catch (cause) {
    return failSoon(events, streamFailure(`fifo:${path}`, errorText(cause), cause))
  }
  return socketFeed(socket, `fifo:${path}`, clock, events)
}

/** A listening UNIX socket. */
export const unixFeed = (path: string, clock: Clock, events: FeedEvents): Feed =>
  socketFeed(createConnection({ path }), `unix:${path}`, clock, events)

/** A listening TCP socket. */
export function tcpFeed(host: string, port: number, clock: Clock, events: FeedEvents): Feed {
  return socketFeed(createConnection({ host, port }), `tcp:${host}:${port}`, clock, events)
}

function socketFeed(socket: Socket, name: string, clock: Clock, events: FeedEvents): Feed {
  socket
    .on('error', (cause) => events.onLost(streamFailure(name, errorText(cause), cause)))
    .once('end', () => events.onLost(streamFailure(name, 'the end of the stream', undefined)))
  const reading = gatheredReading(socket, clock, events.onOctets)
  return {
    gather: reading.gather,
    close: () =>
      new Promise((resolve) => {
        reading.close()
        if (socket.destroyed) return resolve()
        socket.once('close', () => resolve())
        socket.destroy()
      }),
  }
}

function failSoon(events: FeedEvents, failure: Failure): Feed {
  queueMicrotask(() => events.onLost(failure))
  return { close: async () => {} }
}

const streamFailure = (subject: string, got: string, cause: unknown): Failure =>
  new Failure({
    code: 'audio-stream',
    subject,
    got,
    expected: 'a program that sends raw PCM there',
    advice: 'it is tried again by itself',
    cause,
  })
