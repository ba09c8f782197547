import { existsSync, readFileSync, statSync, writeFileSync } from 'node:fs'
import { afterEach, describe, expect, it } from 'vitest'
import { parseDeviceList } from '../../src/audio/alsaDevices.js'
import { createAlsaReport } from '../../src/audio/alsaReport.js'
import { createAlsaSink } from '../../src/audio/alsaSink.js'
import { createAlsaSource } from '../../src/audio/alsaSource.js'
import { type SpawnChild, spawnTied } from '../../src/audio/audioChild.js'
import type { AudioSource } from '../../src/audio/audioDevice.js'
import { decodePcm, encodePcm } from '../../src/audio/rawPcm.js'
import { childEnd } from '../../src/devices/child.js'
import type { Failure } from '../../src/runtime/failure.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { type AlsaHome, alsaHome, hasAlsaTools } from './alsaHome.js'

const layout = { sampleRateHz: 48_000, sampleFormat: 's16le', channelCount: 1, channel: 0 } as const
const tone = Float32Array.from({ length: 4801 }, (_, index) => 0.8 * Math.sin(index / 7))

const homes: AlsaHome[] = []
const newHome = (): AlsaHome => {
  const home = alsaHome()
  homes.push(home)
  return home
}
afterEach(() => {
  for (const home of homes.splice(0)) home.remove()
})

/** Settles at the first fault that satisfies, or once as many samples came. */
function collect(
  source: AudioSource,
  samples: number,
): Promise<{ heard: number[]; faults: Failure[] }> {
  return new Promise((resolve) => {
    const heard: number[] = []
    const faults: Failure[] = []
    source.open({
      onBlock(block) {
        heard.push(...block)
        if (heard.length >= samples) resolve({ heard, faults })
      },
      onFault(failure) {
        faults.push(failure)
        if (samples === 0) resolve({ heard, faults })
      },
      onEnd: () => resolve({ heard, faults }),
    })
  })
}

describe.skipIf(!hasAlsaTools)('real arecord and aplay (alsa-utils; skipped without it)', () => {
  it('plays each transmission whole and in order, and settles no sooner than its duration', async () => {
    const home = newHome()
    const clock = systemClock()
    const sink = createAlsaSink({ ...layout, clock, spawn: spawnTied(home.env), device: 'testout' })
    await sink.prepare()
    for (let count = 0; count < 3; count++) {
      const startedMs = clock.monotonicMs()
      const playing = sink.play(tone)
      expect(sink.playing).toBe(true)
      await playing
      expect(clock.monotonicMs() - startedMs).toBeGreaterThanOrEqual(100)
    }
    expect(sink.playing).toBe(false)
    await sink.close()
    const [played] = decodePcm(readFileSync(home.playedFile), 's16le', 1)
    const [wanted] = decodePcm(encodePcm(tone, 's16le'), 's16le', 1)
    // aplay fills its last period up with silence: 480 samples here
    const each = Math.ceil(tone.length / 480) * 480
    expect(played).toHaveLength(3 * each)
    for (let count = 0; count < 3; count++) {
      const part = played!.subarray(count * each, (count + 1) * each)
      expect([...part.subarray(0, tone.length)]).toEqual([...wanted!])
      expect(part.subarray(tone.length).every((value) => value === 0)).toBe(true)
    }
    expect(sink.counters).toEqual({ samples: 3 * tone.length, underruns: 0, faults: 0 })
  })

  it('writes one channel of two and leaves the other silent', async () => {
    const home = newHome()
    const spawn = spawnTied(home.env)
    const options = { ...layout, channelCount: 2, channel: 1, clock: systemClock(), spawn }
    const sink = createAlsaSink({ ...options, device: 'testout' })
    await sink.play(tone)
    await sink.close()
    const [left, right] = decodePcm(readFileSync(home.playedFile), 's16le', 2)
    expect(left!.every((value) => value === 0)).toBe(true)
    expect(right![7]).toBeCloseTo(tone[7]!, 3)
  })

  it('stop() ends a transmission at once, and the next one plays', async () => {
    const home = newHome()
    const clock = systemClock()
    const sink = createAlsaSink({ ...layout, clock, spawn: spawnTied(home.env), device: 'testout' })
    await sink.prepare()
    const long = sink.play(new Float32Array(30 * 48_000))
    sink.stop()
    await long
    expect(sink.counters.samples).toBe(0)
    await sink.play(tone)
    expect(sink.counters.samples).toBe(tone.length)
    await sink.close()
  })

  it('a device that is not there rejects prepare and play with advice', async () => {
    const home = newHome()
    const clock = virtualClock()
    const sink = createAlsaSink({ ...layout, clock, spawn: spawnTied(home.env), device: 'nosuch' })
    await expect(sink.prepare()).rejects.toThrow(/alsa:nosuch: got .*Unknown PCM.*levels --list/)
    await expect(sink.play(tone)).rejects.toThrow(/alsa:nosuch/)
    expect(sink.counters.faults).toBe(1)
    await sink.close()
  })

  it('a card that is not there is named in plain words', async () => {
    const clock = virtualClock()
    const spawn = spawnTied(newHome().env)
    const sink = createAlsaSink({ ...layout, clock, spawn, device: 'plughw:CARD=gone' })
    await expect(sink.prepare()).rejects.toThrow(
      /alsa:plughw:CARD=gone: got no sound card is called gone, .*levels --list/,
    )
    await sink.close()
  })

  it('opens the card anew by itself after a failed attempt', async () => {
    const home = newHome()
    const clock = virtualClock()
    const real = spawnTied(home.env)
    let spawns = 0
    // The card comes back between the first and the second attempt.
    const spawn: SpawnChild = (command, list) => {
      spawns++
      return real(
        command,
        spawns === 1 ? list.map((part) => part.replace('testout', 'gone')) : list,
      )
    }
    const sink = createAlsaSink({ ...layout, clock, spawn, device: 'testout' })
    await expect(sink.prepare()).rejects.toThrow(/gone|PCM/)
    while (spawns === 1) {
      clock.advanceBy(500)
      await new Promise((resolve) => setImmediate(resolve))
    }
    await expect(sink.prepare()).resolves.toBeUndefined()
    await sink.close()
  })

  it('a second play before the first settled is refused', async () => {
    const home = newHome()
    const spawn = spawnTied(home.env)
    const sink = createAlsaSink({ ...layout, clock: systemClock(), spawn, device: 'testout' })
    const first = sink.play(tone)
    await expect(sink.play(tone)).rejects.toThrow(RangeError)
    sink.stop()
    await first
    await sink.close()
  })

  it.each([0, 1])('records channel %d of a stereo card', async (channel) => {
    const home = newHome()
    const octets = encodePcm(tone, 's16le', channel, 2)
    writeFileSync(home.recordedFile, octets)
    const spawn = spawnTied(home.env)
    const options = { ...layout, channelCount: 2, channel, clock: systemClock(), spawn }
    const source = createAlsaSource({ ...options, device: 'testin' })
    const { heard, faults } = await collect(source, tone.length)
    await source.close()
    const wanted = decodePcm(octets, 's16le', 2)[channel]!
    expect(heard.slice(0, 4800)).toEqual([...wanted.subarray(0, 4800)])
    expect(faults).toEqual([])
  })

  it('a missing card is told with advice, and waited for', async () => {
    const home = newHome()
    const clock = virtualClock()
    const real = spawnTied(home.env)
    writeFileSync(home.recordedFile, encodePcm(tone, 's16le'))
    let spawns = 0
    const spawn: SpawnChild = (command, list) => {
      spawns++
      return real(command, spawns < 3 ? list.map((part) => part.replace('testin', 'gone')) : list)
    }
    const source = createAlsaSource({ ...layout, clock, spawn, device: 'testin' })
    const heard = collect(source, 4800)
    while (source.counters.samples < 4800) {
      if (source.counters.faults > source.counters.restarts) clock.advanceBy(100)
      await new Promise((resolve) => setImmediate(resolve))
    }
    const { faults } = await heard
    await source.close()
    expect(faults).toHaveLength(1)
    expect(faults[0]!.message).toMatch(/Unknown PCM gone.*levels --list/)
    expect(source.counters).toMatchObject({ faults: 2, restarts: 2 })
  })

  it('a process that is killed, as by a card that vanishes, is replaced', async () => {
    const home = newHome()
    const clock = virtualClock()
    const real = spawnTied(home.env)
    writeFileSync(home.recordedFile, encodePcm(tone, 's16le'))
    const children: ReturnType<SpawnChild>[] = []
    const spawn: SpawnChild = (command, list) => {
      const child = real(command, list)
      children.push(child)
      return child
    }
    const source = createAlsaSource({ ...layout, clock, spawn, device: 'testin' })
    source.open({ onBlock: () => children[0]!.kill('SIGTERM'), onFault: () => {}, onEnd: () => {} })
    while (source.counters.restarts === 0) {
      if (source.counters.faults > 0) clock.advanceBy(100)
      await new Promise((resolve) => setImmediate(resolve))
    }
    expect(source.counters.faults).toBe(1)
    await source.close()
    expect(children.every((child) => child.killed)).toBe(true)
  })

  it('is out of reach of what a terminal tells everybody in it', async () => {
    const child = spawnTied(process.env)('cat', [])
    await new Promise((resolve) => child.once('spawn', resolve))
    // proc(5): after the command in brackets stand state, parent, process group, session
    const stat = readFileSync(`/proc/${child.pid}/stat`, 'utf8')
    const [, , group, session] = stat.slice(stat.lastIndexOf(')') + 2).split(' ')
    expect([group, session]).toEqual([String(child.pid), String(child.pid)])
    child.stdin.end()
    await childEnd(child)
  })

  it('dies with the thread that started it: nothing plays on', async () => {
    const home = newHome()
    const { Worker } = await import('node:worker_threads')
    const worker = new Worker(
      `const { spawn } = require('node:child_process')
       const { parentPort } = require('node:worker_threads')
       const child = spawn('setpriv', ['--pdeathsig', 'KILL', '--', 'sleep', '60'], { stdio: 'pipe' })
       child.once('spawn', () => parentPort.postMessage(child.pid))`,
      { eval: true },
    )
    const pid = await new Promise<number>((resolve) => worker.once('message', resolve))
    // exec of setpriv's own command must be over, or the signal is not yet arranged
    const running = (): boolean => existsSync(`/proc/${pid}`) && statusOf(pid) !== 'Z'
    while (!readFileSync(`/proc/${pid}/cmdline`, 'utf8').startsWith('sleep'))
      await new Promise((resolve) => setImmediate(resolve))
    await worker.terminate()
    for (let tries = 0; running() && tries < 100_000; tries++)
      await new Promise((resolve) => setImmediate(resolve))
    expect(running()).toBe(false)
    expect(statSync(home.directory).isDirectory()).toBe(true)
  })
})

const statusOf = (pid: number): string =>
  /^State:\s+(\w)/m.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1] ?? ''

describe('what arecord and aplay say', () => {
  const setUp = `Recording raw data 'stdin' : Signed 16 bit Little Endian, Rate 48000 Hz, Mono
Hardware PCM card 1 'USB Audio Device' device 0 subdevice 0
Its setup is:
  stream       : CAPTURE
  rate         : 44100
  exact rate   : 44100 (44100/1)
  boundary     : 6755399441055744000
`
  it('is read at any cut: rate, readiness, overruns, complaints', () => {
    const text = `Warning: rate is not accurate (requested = 48000Hz, got = 44100Hz)\n${setUp}overrun!!! (at least 12.345 ms long)\n`
    for (let cut = 0; cut <= text.length; cut++) {
      let ready = 0
      let lapses = 0
      const report = createAlsaReport(
        () => lapses++,
        () => ready++,
      )
      report.push(text.slice(0, cut))
      report.push(text.slice(cut))
      expect(report).toMatchObject({ ready: true, sampleRateHz: 44_100, lapses: 1 })
      expect([ready, lapses]).toEqual([1, 1])
      expect(report.complaints).toEqual([
        'Warning: rate is not accurate (requested = 48000Hz, got = 44100Hz)',
      ])
    }
  })

  it('a card at another rate is refused with the setting that suits it', async () => {
    // A stand-in for hw: devices, which take what rate they like: no plugin that is installed behaves so.
    const spawn: SpawnChild = () =>
      spawnTied({ PATH: process.env.PATH })('sh', ['-c', `cat >&2 <<'E'\n${setUp}E\nexec sleep 60`])
    const options = { ...layout, clock: virtualClock(), spawn, device: 'hw:1' }
    const source = createAlsaSource(options)
    const { faults } = await collect(source, 0)
    await source.close()
    expect(faults[0]!.message).toMatch(/44100 samples a second.*audio.rateHz = 44100/)
    const sink = createAlsaSink(options)
    await expect(sink.prepare()).rejects.toThrow(/audio.rateHz = 44100/)
    await sink.close()
  })

  it('a missing program is told as such', async () => {
    const spawn = spawnTied({ PATH: '/nowhere' })
    const source = createAlsaSource({ ...layout, clock: virtualClock(), spawn, device: 'x' })
    const { faults } = await collect(source, 0)
    await source.close()
    expect(faults[0]!.message).toContain('install alsa-utils')
  })

  it('the list of cards becomes specs by name', () => {
    // Layout as printed by alsa-utils 1.2.8, with invented cards.
    const text = `**** List of CAPTURE Hardware Devices ****
card 0: PCH [HDA Intel PCH], device 0: Analog [Analog]
  Subdevices: 1/1
  Subdevice #0: subdevice #0
card 2: Device [USB Audio Device], device 0: USB Audio [USB Audio]
  Subdevices: 0/1
`
    expect(parseDeviceList(text)).toEqual([
      { spec: 'alsa:plughw:CARD=PCH,DEV=0', description: 'HDA Intel PCH, Analog' },
      { spec: 'alsa:plughw:CARD=Device,DEV=0', description: 'USB Audio Device, USB Audio' },
    ])
  })
})
