import { type ChildProcess, execFileSync, spawn } from 'node:child_process'
import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { decodePcm, encodePcm } from '../../src/audio/rawPcm.js'
import type { HeardFrame, TransmitOutcome } from '../../src/radio/port.js'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import type { ChannelAccess } from '../../src/radio/radioPort.js'
import { createSoundCardRadio, type SoundCardRadio } from '../../src/radio/soundCardRadio.js'
import type { RadioSetup } from '../../src/radio/workerMessages.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { type AlsaHome, alsaHome } from '../audio/alsaHome.js'
import { compiled, pttDefaults } from '../ptt/helperProcess.js'
import { transmitDefaults } from './fixtures.js'

export const rateHz = 48_000
const octetsPerSample = 2

/** A real radio worker between real arecord and aplay, whose card is ALSA's own file plugin, fed at a card's pace. */
export interface LiveBench {
  readonly home: AlsaHome
  readonly setup: RadioSetup
  readonly logFile: string
  /** all that was played, one transmission behind the other */
  played(): Float32Array
  /** @param file of the worker; the real one by default */
  radio(file?: string): LiveRadio
  close(): Promise<void>
}

export interface LiveRadio {
  readonly port: SoundCardRadio
  readonly heard: HeardFrame[]
  readonly outcomes: TransmitOutcome[]
  readonly events: RadioEvent[]
}

/** @param input what is on the air; silence after it */
export function liveBench(input: Float32Array, access: Partial<ChannelAccess> = {}): LiveBench {
  const home = alsaHome()
  const logFile = join(home.directory, 'edges.log')
  const inputFile = join(home.directory, 'input.raw')
  writeFileSync(inputFile, encodePcm(input, 's16le'))
  execFileSync('mkfifo', [home.recordedFile])
  const pacer: ChildProcess = spawn(
    process.execPath,
    [
      fileURLToPath(new URL('pacedAudio.mjs', import.meta.url)),
      ...[inputFile, home.recordedFile, String(rateHz * octetsPerSample)],
    ],
    { stdio: 'ignore' },
  )
  const setup: RadioSetup = {
    ...{ radio: 0, name: 'radio', levelDbfs: -6, toneBalanceDb: 0 },
    transmit: { ...transmitDefaults, access: { ...transmitDefaults.access, ...access } },
    audio: {
      ...{ input: 'alsa:testin', output: 'alsa:testout', channel: 0 },
      ...{ sampleRateHz: rateHz, sampleFormat: 's16le', channelCount: 1 },
    },
    receiver: { repair: 'none' },
    ptt: { ...pttDefaults, logFile, deadManMs: 200 },
    holdFile: join(home.directory, 'hold'),
    holdInput: { kind: 'none', device: '', activeLow: false, command: [], intervalMs: 500 },
  }
  const radios: SoundCardRadio[] = []
  return {
    home,
    setup,
    logFile,
    played: () => decodePcm(readFileSync(home.playedFile), 's16le', 1)[0]!,
    radio(file = compiled('src/radio/worker.js')) {
      const port = createSoundCardRadio({
        setup,
        clock: systemClock(),
        workerFile: file,
        env: { ...process.env, ...home.env },
      })
      radios.push(port)
      const live: LiveRadio = { port, heard: [], outcomes: [], events: [] }
      port.onFrame((frame) => live.heard.push(frame))
      port.onOutcome((outcome) => live.outcomes.push(outcome))
      port.onEvent((event) => live.events.push(event))
      port.start()
      return live
    },
    async close() {
      await Promise.all(radios.map((port) => port.close()))
      pacer.kill('SIGKILL')
      home.remove()
    },
  }
}
