// A process with one radio that keys all the time; unkey.ts starts it, and kills, stops or hangs it.
// unkeyHost.mjs SETUP_JSON; a number of milliseconds on standard input hangs the radio's thread for that long.
import { rmSync } from 'node:fs'
import { createServer } from 'node:net'
import { createInterface } from 'node:readline'
import { fileURLToPath } from 'node:url'
import { createSoundCardRadio } from '../../../dist/src/radio/soundCardRadio.js'
import { systemClock } from '../../../dist/src/runtime/systemClock.js'

const setup = JSON.parse(process.argv[2])
const clock = systemClock()
const air = setup.audio.output.slice('unix:'.length)
rmSync(air, { force: true })
createServer((socket) => socket.on('error', () => {}).resume()).listen(air)

const radio = createSoundCardRadio({
  setup,
  clock,
  workerFile: fileURLToPath(new URL('unkeyWorker.mjs', import.meta.url)),
})
let count = 0
const send = () =>
  radio.sendTone({
    ...{ id: String(++count), tone: 'flags', durationMs: 6000 },
    notAfterMs: clock.monotonicMs() + 60_000,
  })
radio.onOutcome(({ kind }) => {
  if (kind !== 'held') setTimeout(send, 50)
})
radio.onEvent(({ kind, reason }) => console.log(`event ${kind} ${reason}`))
radio.start()
send()
createInterface({ input: process.stdin }).on('line', (line) => radio.release(`hang ${line}`))
