// A radio's thread whose line was cut, and who tells what it is told: as events.
import { parentPort } from 'node:worker_threads'

const event = (reason) =>
  parentPort.postMessage({
    type: 'event',
    event: { radio: 0, kind: 'settings', atMs: 0, atWallMs: 0, reason },
  })
parentPort.on('message', ({ type, source }) => {
  event(type)
  if (type === 'hold' && source === 'test: cut') parentPort.postMessage({ type: 'cut' })
  if (type === 'close') process.exit(0)
})
event('started')
