// A process that runs one radio and makes it send; started by tests that kill or stop it.
// radioHost.mjs SETUP_JSON FRAME_HEX
import { createSoundCardRadio } from '../../dist/src/radio/soundCardRadio.js'
import { systemClock } from '../../dist/src/runtime/systemClock.js'

const clock = systemClock()
const radio = createSoundCardRadio({ setup: JSON.parse(process.argv[2]), clock })
radio.onEvent((event) => console.log(event.kind, event.reason))
radio.start()
radio.send({
  id: 'a',
  octets: Uint8Array.from(Buffer.from(process.argv[3], 'hex')),
  priority: 'answer',
  notAfterMs: clock.monotonicMs() + 60_000,
  origin: 'node',
})
