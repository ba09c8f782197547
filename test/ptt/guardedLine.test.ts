import { type ChildProcess, spawn } from 'node:child_process'
import {
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  readlinkSync,
  rmSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { guardedLine } from '../../src/ptt/guardedLine.js'
import type { KeyLine } from '../../src/ptt/keyLine.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { edgesIn, helperFile, processWith, pttDefaults, waitFor } from './helperProcess.js'

/** The promise: unkeyed that long after whatever happened. */
const unkeyedWithinMs = 250

const clock = systemClock()
const keyHolder = fileURLToPath(new URL('keyHolder.mjs', import.meta.url))

let folder: string
let logFile: string
let child: ChildProcess | undefined
let line: KeyLine | undefined

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-ptt-'))
  logFile = join(folder, 'edges.log')
})
afterEach(async () => {
  child?.kill('SIGKILL')
  child = undefined
  await line?.close()
  line = undefined
  rmSync(folder, { recursive: true })
})

const lastEdge = (edge: 'keyed' | 'unkeyed') => {
  const last = edgesIn(logFile).at(-1)
  return last?.edge === edge ? last : undefined
}

/** A process of its own that holds the key line. */
async function keyedProcess(): Promise<ChildProcess> {
  child = spawn(process.execPath, [keyHolder, JSON.stringify({ ...pttDefaults, logFile })])
  await waitFor(() => lastEdge('keyed'))
  return child
}

// A machine that others keep from running our processes for 100 ms proves nothing about them: such a test is repeated.
describe('key line with a helper process', { retry: 2 }, () => {
  it('is unkeyed at the start, before anything else', async () => {
    await keyedProcess()
    expect(edgesIn(logFile)[0]).toMatchObject({ edge: 'unkeyed', note: 'at the start' })
  })

  it.each(['SIGKILL', 'SIGTERM'] as const)(
    'is released when its owner dies of %s',
    async (signal) => {
      const owner = await keyedProcess()
      const killedMs = clock.monotonicMs()
      owner.kill(signal)
      const edge = await waitFor(() => lastEdge('unkeyed'))
      expect(edge.note).toBe('its owner is gone')
      expect(edge.monotonicMs - killedMs).toBeLessThan(unkeyedWithinMs)
    },
  )

  it('is released when its owner is stopped (SIGSTOP)', async () => {
    const owner = await keyedProcess()
    const stoppedMs = clock.monotonicMs()
    owner.kill('SIGSTOP')
    const edge = await waitFor(() => lastEdge('unkeyed'))
    expect(edge.note).toBe('no sign of life for 150 ms')
    expect(edge.monotonicMs - stoppedMs).toBeLessThan(unkeyedWithinMs)
  })

  it('is released by its owner when the helper is killed, and comes back', async () => {
    let readyCount = 0
    const cuts: string[] = []
    const lost: string[] = []
    const owned = guardedLine({ ptt: { ...pttDefaults, logFile }, clock, helperFile })
    line = owned
    owned.open({
      onReady: () => readyCount++,
      onCut: (_atMs, reason) => cuts.push(reason),
      onLost: (failure) => lost.push(failure.message),
      onFault: () => {},
    })
    await waitFor(() => readyCount || undefined)
    await owned.key()
    const helper = processWith(logFile)
    const killedMs = clock.monotonicMs()
    process.kill(helper, 'SIGKILL')
    const edge = await waitFor(() => lastEdge('unkeyed'))
    expect(edge.note).toBe('the helper is gone')
    expect(edge.monotonicMs - killedMs).toBeLessThan(unkeyedWithinMs)
    expect(lost[0]).toContain('its helper ended (signal SIGKILL)')
    expect(cuts).toHaveLength(1)

    await waitFor(() => (readyCount === 2 ? true : undefined))
    const keyedMs = await owned.key()
    expect(await owned.unkey()).toBeGreaterThan(keyedMs)
  })

  it('is released when the helper is stopped and does not answer', async () => {
    let ready = false
    const owned = guardedLine({ ptt: { ...pttDefaults, logFile }, clock, helperFile })
    line = owned
    owned.open({
      onReady: () => {
        ready = true
      },
      onCut: () => {},
      onLost: () => {},
      onFault: () => {},
    })
    await waitFor(() => ready || undefined)
    await owned.key()
    const helper = processWith(logFile)
    process.kill(helper, 'SIGSTOP')
    await owned.unkey()
    expect(edgesIn(logFile).at(-1)).toMatchObject({ edge: 'unkeyed', note: 'the helper is gone' })
  })

  it('passes on what Node says of the helper, in place of letting it out by itself', async () => {
    const faults: string[] = []
    let ready = false
    line = guardedLine({
      ptt: { ...pttDefaults, logFile },
      clock,
      helperFile: fileURLToPath(new URL('talkingHelper.mjs', import.meta.url)),
    })
    line.open({
      onReady: () => {
        ready = true
      },
      onCut: () => {},
      onLost: () => {},
      onFault: (reason) => faults.push(reason),
    })
    await waitFor(() => (ready && faults.length >= 20 ? true : undefined))
    await line.close()
    expect(faults.slice(0, 2)).toEqual([
      'its helper: (node:1) Warning: something is deprecated',
      'its helper: trace 0',
    ])
    expect(faults).toHaveLength(20)
  })

  it('says what is wrong with a device, and refuses to key', async () => {
    const device = join(folder, 'hidraw9')
    const owned = guardedLine({ ptt: { ...pttDefaults, kind: 'hid', device }, clock, helperFile })
    line = owned
    const failure = await new Promise<string>((resolve) => {
      owned.open({
        onReady: () => resolve('ready'),
        onCut: () => {},
        onLost: (error) => resolve(error.message),
        onFault: () => {},
      })
    })
    // once, as one message: not a message within a message
    expect(failure).toMatch(
      /^key line \(hid .*hidraw9\): cannot be opened: no such file; check ptt\.device/,
    )
    expect(failure).not.toMatch(/ got |expected/)
    await expect(owned.key()).rejects.toThrow('it is not ready')
    // nothing was ever on: closing a line that has no device must not hang or throw
    await owned.close()
  })

  it.skipIf(!existsSync('/proc/self/fd'))(
    'a log that cannot be opened leaves no device open',
    async () => {
      const device = join(folder, 'hidraw')
      writeFileSync(device, '')
      const lost: string[] = []
      line = guardedLine({
        ptt: {
          ...pttDefaults,
          kind: 'hid',
          device,
          line: 3,
          logFile: join(folder, 'no', 'edges.log'),
        },
        clock,
        helperFile,
      })
      line.open({
        onReady: () => {},
        onCut: () => {},
        onFault: () => {},
        onLost: (failure) => lost.push(failure.message),
      })
      await waitFor(() => lost.at(0))
      expect(lost[0]).toMatch(/edges\.log/)
      await line.close()
      const held = readdirSync('/proc/self/fd').filter((fd) => {
        try {
          return readlinkSync(`/proc/self/fd/${fd}`) === device
        } catch {
          return false
        }
      })
      expect(held).toEqual([])
      // and it was driven to unkeyed: five octets, no pin high
      expect([...readFileSync(device)].length).toBeGreaterThanOrEqual(5)
    },
  )
})
