import { fileURLToPath } from 'node:url'
import { afterEach, describe, expect, it } from 'vitest'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import { createSoundCardRadio, type SoundCardRadio } from '../../src/radio/soundCardRadio.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { waitFor } from '../ptt/helperProcess.js'
import { request } from './fixtures.js'
import { setup } from './soundCardBench.js'

let radio: SoundCardRadio | undefined
afterEach(async () => {
  await radio?.close()
  radio = undefined
})

/** A radio whose thread tells what it is told. */
async function bench() {
  const clock = virtualClock()
  const workerFile = fileURLToPath(new URL('cutWorker.mjs', import.meta.url))
  const port = createSoundCardRadio({ setup, clock, workerFile })
  radio = port
  const events: RadioEvent[] = []
  const told = (what: string): number => events.filter(({ reason }) => reason === what).length
  port.onEvent((event) => events.push(event))
  port.start()
  await waitFor(() => told('started') || undefined)
  /** All messages so far have arrived, and their answers too. */
  const settled = async (): Promise<void> => {
    const before = told('release')
    port.release('test')
    await waitFor(() => (told('release') > before ? true : undefined))
  }
  /** Slowly enough for the thread to be taken for alive. */
  const pass = async (ms: number): Promise<void> => {
    for (let passedMs = 0; passedMs < ms; passedMs += 4000) {
      clock.advanceBy(4000)
      await settled()
    }
  }
  const cut = async (): Promise<void> => {
    port.hold('test: cut', 'x')
    await settled()
    await settled()
  }
  return { clock, port, events, told, settled, pass, cut }
}

describe('a thread whose line was cut', () => {
  it('is told that it may key again: after a second, after two with the next, and so on to a minute', async () => {
    const { clock, cut, pass, settled, told } = await bench()
    const restsMs = []
    for (let count = 0; count < 8; count++) {
      const before = told('mayKey')
      await cut()
      const cutAtMs = clock.monotonicMs()
      while (told('mayKey') === before) {
        clock.advanceBy(500)
        await settled()
      }
      restsMs.push(clock.monotonicMs() - cutAtMs)
    }
    expect(restsMs).toEqual([1000, 2000, 4000, 8000, 16_000, 32_000, 60_000, 60_000])
    await pass(200_000)
    const before = told('mayKey')
    await cut()
    clock.advanceBy(1000)
    await settled()
    expect(told('mayKey')).toBe(before + 1)
  })

  it('is told nothing once the radio is being closed', async () => {
    const { clock, cut, port, told } = await bench()
    await cut()
    const closing = port.close()
    clock.advanceBy(2000)
    await closing
    expect(told('mayKey')).toBe(0)
  })
})

describe('a request that cannot be told to the thread', () => {
  it('is refused, and the radio goes on', async () => {
    const { port, events } = await bench()
    const outcomes: unknown[] = []
    port.onOutcome((outcome) => outcomes.push(outcome))
    const broken = { ...request('a', new Uint8Array(20)), extra: () => {} }
    port.send(broken)
    expect(outcomes).toEqual([
      { id: 'a', kind: 'refused', atMs: 0, reason: 'a fault of the program' },
    ])
    expect(events.at(-1)).toMatchObject({
      kind: 'fault',
      reason: expect.stringMatching(/^a message to the radio's thread: /),
    })
  })
})
