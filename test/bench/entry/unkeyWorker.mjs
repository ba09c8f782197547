// A radio's real thread that can be made to hang: it computes, or it sleeps, without an end in sight.
import { writeSync } from 'node:fs'
import { parentPort } from 'node:worker_threads'
import '../../../dist/src/radio/worker.js'

const wallMs = () => performance.timeOrigin + performance.now()

parentPort.on('message', ({ type, source }) => {
  const hangMs = type === 'release' && /^hang (\d+)$/.exec(source)?.[1]
  if (!hangMs) return
  const untilMs = wallMs() + Number(hangMs)
  // By a call of the system: what goes through the main thread comes late.
  writeSync(1, `hang ${Date.now()}\n`)
  if (Number(hangMs) % 2 === 0) {
    while (wallMs() < untilMs);
  } else Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, Number(hangMs))
})
