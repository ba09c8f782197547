// A radio's thread with a fault in it, that comes out when it is told.
import { parentPort } from 'node:worker_threads'
import '../../dist/src/radio/worker.js'

parentPort.on('message', (message) => {
  if (message.type === 'release' && message.source === 'crash')
    throw new Error('a fault on purpose')
})
