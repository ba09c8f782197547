// A radio's thread that hangs for a second when it is told to.
import { parentPort } from 'node:worker_threads'
import '../../dist/src/radio/worker.js'

parentPort.on('message', ({ type, source }) => {
  if (type === 'release' && source === 'hang')
    Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 1000)
})
