// A radio's thread that tells what it is told, as events, and does what a test says under the name of a hold.
import { parentPort, workerData } from 'node:worker_threads'

const event = (reason) =>
  parentPort.postMessage({
    type: 'event',
    event: { radio: 0, kind: 'settings', atMs: 0, atWallMs: 0, reason },
  })
let isDeaf = false
const scripts = {
  'test: post': (text) => parentPort.postMessage(JSON.parse(text)),
  'test: exit': (text) => process.exit(Number(text)),
  'test: throw': (text) => {
    throw new Error(text)
  },
  'test: stderr': (text) => process.stderr.write(text),
  'test: deaf': () => {
    isDeaf = true
  },
}
parentPort.on('message', (message) => {
  if (message.type === 'close' && !isDeaf) process.exit(0)
  const script = message.type === 'hold' ? scripts[message.source] : undefined
  if (script === undefined) event(JSON.stringify(message))
  else script(message.reason)
})
event(`started ${JSON.stringify(workerData)}`)
