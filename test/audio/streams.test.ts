import { execFileSync } from 'node:child_process'
import { createReadStream, createWriteStream, mkdtempSync, rmSync } from 'node:fs'
import { createServer, type Server, type Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import type { AudioSource } from '../../src/audio/audioDevice.js'
import { type AudioOptions, openAudioSink, openAudioSource } from '../../src/audio/openAudio.js'
import { decodePcm, encodePcm } from '../../src/audio/rawPcm.js'
import { openWav } from '../../src/audio/wavReader.js'
import { createWav } from '../../src/audio/wavWriter.js'
import type { Failure } from '../../src/runtime/failure.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

let directory: string
beforeAll(() => {
  directory = mkdtempSync(join(tmpdir(), 'ridgepost-streams-'))
})
afterAll(() => rmSync(directory, { recursive: true }))

const options: AudioOptions = {
  sampleRateHz: 8000,
  sampleFormat: 's16le',
  channelCount: 1,
  channel: 0,
  clock: systemClock(),
}
const tone = Float32Array.from({ length: 1000 }, (_, index) => 0.8 * Math.sin(index / 5))
const octets = encodePcm(tone, 's16le')
const heardTone = [...decodePcm(octets, 's16le', 1)[0]!]

interface Heard {
  readonly samples: number[]
  readonly faults: Failure[]
  ends: number
  /** settles when the condition holds after an event */
  until(condition: () => boolean): Promise<void>
}

function listen(source: AudioSource): Heard {
  const waiting: (() => void)[] = []
  const wake = (): void => {
    for (const each of [...waiting]) each()
  }
  const heard: Heard = {
    samples: [],
    faults: [],
    ends: 0,
    until: (condition) =>
      new Promise((resolve) => {
        const look = (): void => {
          if (condition()) resolve()
        }
        waiting.push(look)
        look()
      }),
  }
  source.open({
    onBlock(block) {
      heard.samples.push(...block)
      wake()
    },
    onFault(failure) {
      heard.faults.push(failure)
      wake()
    },
    onEnd() {
      heard.ends++
      wake()
    },
  })
  return heard
}

const servers: Server[] = []
afterEach(() => {
  for (const server of servers.splice(0)) server.close()
})

/** A server that hands each connection to `serve`. */
function serve(place: string | number, serveOne: (socket: Socket) => void): Promise<Server> {
  return new Promise((resolve) => {
    const server = createServer(serveOne)
    servers.push(server)
    const ready = (): void => resolve(server)
    if (typeof place === 'string') server.listen(place, ready)
    else server.listen(place, '127.0.0.1', ready)
  })
}

const portOf = (server: Server): number => (server.address() as { port: number }).port

describe('raw PCM from programs', () => {
  it('standard input is read to its end', async () => {
    const stdin = new PassThrough()
    const source = openAudioSource('pcm:-', { ...options, stdin })
    const heard = listen(source)
    stdin.write(octets.subarray(0, 333))
    stdin.end(octets.subarray(333))
    await heard.until(() => heard.ends === 1)
    expect(heard.samples).toEqual(heardTone)
    expect(source.counters).toMatchObject({ samples: 1000, faults: 0 })
    await source.close()
  })

  it.each(['unix', 'tcp'])(
    '%s: gathered audio waits in the kernel, and comes whole',
    async (kind) => {
      let theirs: Socket | undefined
      const path = join(directory, 'gathered.sock')
      const server = await serve(kind === 'unix' ? path : 0, (socket) => {
        theirs = socket.setNoDelay(true)
        socket.write(octets.subarray(0, 200))
      })
      const clock = virtualClock()
      const spec = kind === 'unix' ? `unix:${path}` : `tcp:127.0.0.1:${portOf(server)}`
      const source = openAudioSource(spec, { ...options, clock })
      source.gather!(100)
      const pieces: number[] = []
      const heard = listen({
        ...source,
        open: (taker) =>
          source.open({
            ...taker,
            onBlock: (block) => {
              pieces.push(block.length)
              taker.onBlock(block)
            },
          }),
      })
      await heard.until(() => heard.samples.length === 100)
      // Written, and read by nobody while other events of the loop come and go.
      for (const at of [200, 400, 600]) {
        await new Promise<void>((resolve) =>
          theirs!.write(octets.subarray(at, at + 200), () => resolve()),
        )
        for (let turn = 0; turn < 5; turn++) await new Promise((resolve) => setImmediate(resolve))
      }
      expect(pieces).toEqual([100])
      clock.advanceBy(100)
      await heard.until(() => heard.samples.length === 400)
      expect(pieces).toEqual([100, 300])
      // Whole samples come of pieces that are cut anywhere, and what is there comes without a turn of the loop.
      for (const [at, to] of [
        [800, 901],
        [901, 1002],
      ]) {
        await new Promise<void>((resolve) =>
          theirs!.write(octets.subarray(at, to), () => resolve()),
        )
        clock.advanceBy(100)
        // A UNIX socket has at once what was written.
        if (kind === 'unix') expect(pieces.reduce((sum, one) => sum + one, 0)).toBe(to! >> 1)
        await heard.until(() => heard.samples.length === to! >> 1)
      }
      expect(pieces).toEqual([100, 300, 50, 51])
      // And at once when that is wanted.
      await new Promise<void>((resolve) => theirs!.write(octets.subarray(1002), () => resolve()))
      source.gather!(0)
      await heard.until(() => heard.samples.length === 1000)
      expect(heard.samples).toEqual(heardTone)
      await source.close()
    },
  )

  it.each(['unix', 'tcp'])('%s: gathered audio that ends is noticed', async (kind) => {
    const path = join(directory, 'ending.sock')
    let theirs: Socket | undefined
    const server = await serve(kind === 'unix' ? path : 0, (socket) => {
      theirs = socket
      socket.write(octets.subarray(0, 200))
    })
    const clock = virtualClock()
    const spec = kind === 'unix' ? `unix:${path}` : `tcp:127.0.0.1:${portOf(server)}`
    const source = openAudioSource(spec, { ...options, clock })
    source.gather!(100)
    const heard = listen(source)
    await heard.until(() => heard.samples.length === 100)
    theirs!.end(octets.subarray(200, 400))
    while (heard.faults.length === 0) {
      clock.advanceBy(100)
      await new Promise((resolve) => setImmediate(resolve))
    }
    expect(heard.samples).toEqual(heardTone.slice(0, 200))
    expect(heard.faults[0]!.message).toContain('the end of the stream')
    await source.close()
  })

  it('more than fits into a piece comes whole', async () => {
    const path = join(directory, 'much.sock')
    const all = encodePcm(new Float32Array(200_000).fill(0.5), 's16le')
    await serve(path, (socket) => {
      socket.write(octets)
      setImmediate(() => socket.write(all))
    })
    const clock = virtualClock()
    const source = openAudioSource(`unix:${path}`, { ...options, clock })
    source.gather!(100)
    const heard = listen(source)
    await heard.until(() => heard.samples.length >= 1000)
    while (heard.samples.length < 201_000) {
      clock.advanceBy(100)
      await new Promise((resolve) => setImmediate(resolve))
    }
    expect(heard.samples.length).toBe(201_000)
    await source.close()
  })

  it.each(['unix', 'tcp'])(
    '%s: audio comes, and again after the program was restarted',
    async (kind) => {
      let sent = 0
      const path = join(directory, 'audio.sock')
      const server = await serve(kind === 'unix' ? path : 0, (socket) => {
        sent++
        // The first connection breaks in the middle of a sample.
        socket.end(sent === 1 ? octets.subarray(0, 1001) : octets)
      })
      const spec = kind === 'unix' ? `unix:${path}` : `tcp:127.0.0.1:${portOf(server)}`
      // A virtual clock, so that the back-off takes no time.
      const clock = virtualClock()
      const source = openAudioSource(spec, { ...options, clock })
      const heard = listen(source)
      await heard.until(() => heard.faults.length === 1)
      clock.advanceBy(500)
      await heard.until(() => heard.samples.length === 1500)
      expect(heard.samples).toEqual([...heardTone.slice(0, 500), ...heardTone])
      expect(heard.faults[0]!.message).toContain(spec)
      await source.close()
    },
  )

  it('a socket that nobody listens at is told and waited for', async () => {
    const path = join(directory, 'late.sock')
    const clock = virtualClock()
    const source = openAudioSource(`unix:${path}`, { ...options, clock })
    const heard = listen(source)
    await heard.until(() => heard.faults.length === 1)
    expect(heard.faults[0]!.message).toMatch(/late.sock.*tried again/)
    await serve(path, (socket) => socket.end(octets))
    clock.advanceBy(500)
    await heard.until(() => heard.samples.length === 1000)
    await source.close()
  })

  it('a FIFO serves one writer after the other', async () => {
    const path = join(directory, 'fifo')
    execFileSync('mkfifo', [path])
    const clock = virtualClock()
    const source = openAudioSource(`fifo:${path}`, { ...options, clock })
    const heard = listen(source)
    createWriteStream(path).end(octets)
    await heard.until(() => heard.faults.length === 1)
    clock.advanceBy(500)
    createWriteStream(path).end(octets)
    await heard.until(() => heard.samples.length === 2000)
    expect(heard.samples).toEqual([...heardTone, ...heardTone])
    await source.close()
  })

  it('a plain file is not taken for a FIFO', async () => {
    const source = openAudioSource(`fifo:${import.meta.filename}`, options)
    const heard = listen(source)
    await heard.until(() => heard.faults.length === 1)
    expect(heard.faults[0]!.message).toContain('not a FIFO')
    await source.close()
  })
})

describe('raw PCM to programs', () => {
  it.each(['unix', 'tcp', 'fifo'])('%s: transmissions arrive whole and in order', async (kind) => {
    const received: Buffer[] = []
    let count = 0
    const path = join(directory, `out.${kind}`)
    let arrived = (): void => {}
    const all = new Promise<void>((resolve) => {
      arrived = resolve
    })
    const take = (part: Buffer): void => {
      received.push(part)
      count += part.length
      if (count === 2 * octets.length) arrived()
    }
    let spec = `${kind}:${path}`
    if (kind === 'fifo') {
      execFileSync('mkfifo', [path])
      const reading = createReadStream(path)
      reading.on('data', (part) => take(part as Buffer))
    } else {
      const server = await serve(kind === 'unix' ? path : 0, (socket) => socket.on('data', take))
      if (kind === 'tcp') spec = `tcp:127.0.0.1:${portOf(server)}`
    }
    const clock = systemClock()
    const sink = openAudioSink(spec, { ...options, clock })
    // The reader of a FIFO opens it in its own time.
    for (let ready = false; !ready; ) {
      ready = await sink.prepare().then(
        () => true,
        () => new Promise((resolve) => setImmediate(() => resolve(false))),
      )
    }
    const startedMs = clock.monotonicMs()
    await sink.play(tone)
    expect(clock.monotonicMs() - startedMs).toBeGreaterThanOrEqual(125)
    await sink.play(tone)
    await all
    expect(Buffer.concat(received)).toEqual(Buffer.concat([octets, octets]))
    expect(sink.counters).toEqual({ samples: 2000, underruns: 0, faults: 0 })
    await sink.close()
  })

  it('stop() leaves at most a tenth of a second unheard-of, and settles at once', async () => {
    const path = join(directory, 'stop.sock')
    let count = 0
    await serve(path, (socket) => {
      socket.on('data', (part) => {
        count += part.length
      })
    })
    const clock = virtualClock()
    const sink = openAudioSink(`unix:${path}`, { ...options, clock })
    await sink.prepare()
    const playing = sink.play(new Float32Array(80_000))
    // 100 ms ahead and the piece of 20 ms that is due: then the sink waits for the clock, which stands.
    while (count < 2 * 960) await new Promise((resolve) => setImmediate(resolve))
    sink.stop()
    await playing
    await sink.close()
    expect(count).toBe(2 * 960)
    expect(sink.counters.samples).toBe(0)
  })

  it('a reader that hangs does not hold up stop()', async () => {
    const path = join(directory, 'hang.sock')
    await serve(path, (socket) => socket.pause())
    const clock = virtualClock()
    const sink = openAudioSink(`unix:${path}`, {
      ...options,
      sampleRateHz: 192_000,
      channelCount: 32,
      clock,
    })
    const playing = sink.play(new Float32Array(192_000 * 2))
    for (let turn = 0; turn < 1000; turn++) {
      clock.advanceBy(1)
      await new Promise((resolve) => setImmediate(resolve))
    }
    expect(sink.playing).toBe(true)
    sink.stop()
    await playing
    await sink.close()
  })

  it('nobody there: rejected at once', async () => {
    const path = join(directory, 'nobody')
    execFileSync('mkfifo', [path])
    const fifo = openAudioSink(`fifo:${path}`, options)
    await expect(fifo.play(tone)).rejects.toThrow(/a FIFO that nobody reads/)
    const unix = openAudioSink(`unix:${join(directory, 'none.sock')}`, options)
    await expect(unix.play(tone)).rejects.toThrow(/none.sock: .*no such file/)
    expect(unix.counters.faults).toBe(1)
    await expect(unix.play(tone)).rejects.toThrow(/none.sock/)
    const place = openAudioSink(`fifo:${import.meta.filename}`, options)
    await expect(place.play(tone)).rejects.toThrow(/not a FIFO/)
  })
})

describe('recordings on a virtual clock', () => {
  const recording = (name: string): string => {
    const file = join(directory, name)
    const wav = createWav(file, { ...options, channelCount: 2, channel: 1 })
    wav.write(tone)
    wav.close()
    return file
  }

  it('a source gives each sample when it is due', () => {
    const clock = virtualClock()
    const source = openAudioSource(`wav:${recording('in.wav')}`, { ...options, clock, channel: 1 })
    const heard = listen(source)
    expect(source.sampleRateHz).toBe(8000)
    clock.advanceTo(19.9)
    expect(heard.samples).toHaveLength(0)
    clock.advanceTo(20)
    expect(heard.samples).toHaveLength(160)
    clock.advanceTo(124.9)
    expect(heard.samples).toHaveLength(960)
    clock.advanceTo(125)
    expect(heard.samples).toEqual(heardTone)
    expect(heard.ends).toBe(1)
    clock.advanceTo(1000)
    expect(heard.ends).toBe(1)
  })

  it('a channel that the file has not is a failure', () => {
    expect(() => openAudioSource(`wav:${recording('in.wav')}`, { ...options, channel: 2 })).toThrow(
      /got channel 2, expected 0 to 1/,
    )
    expect(() => openAudioSink('pcm:-', { ...options, channel: 1 })).toThrow(/the only one/)
    expect(() => openAudioSink('pcm:-', { ...options, sampleRateHz: 4000 })).toThrow(/4000 samples/)
  })

  it('a sink lays transmissions on its time line and cuts off what was stopped', async () => {
    const clock = virtualClock()
    const file = join(directory, 'out.wav')
    const sink = openAudioSink(`wav:${file}`, { ...options, clock })
    await clock.advanceToAsync(100)
    const first = sink.play(tone)
    await clock.advanceToAsync(225)
    await first
    await clock.advanceToAsync(300)
    const second = sink.play(tone)
    await clock.advanceToAsync(350)
    sink.stop()
    await second
    await sink.close()
    const reader = openWav(file)
    const [all] = reader.read(10_000)!
    reader.close()
    const silence = (length: number): number[] => new Array(length).fill(0)
    expect([...all!]).toEqual([
      ...silence(800),
      ...heardTone,
      ...silence(600),
      ...heardTone.slice(0, 400),
    ])
    expect(sink.counters.samples).toBe(1400)
  })
})
