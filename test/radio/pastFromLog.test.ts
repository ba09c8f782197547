import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { openEdgeLog } from '../../src/ptt/edgeLog.js'
import { pastFromLog } from '../../src/radio/pastFromLog.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

let folder: string
let file: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-past-'))
  file = join(folder, 'edges.log')
})
afterEach(() => rmSync(folder, { recursive: true }))

/** What a process wrote whose clock began at startWallMs. */
function write(startWallMs: number, edges: readonly [number, 'keyed' | 'unkeyed'][]): void {
  const clock = virtualClock(startWallMs)
  const log = openEdgeLog(file, clock)
  log.write('unkeyed', 'at the start')
  for (const [atMs, edge] of edges) {
    clock.advanceTo(atMs)
    log.write(edge)
  }
  log.close()
}

describe('past from the log of the key line', () => {
  it('gives what earlier processes sent, on the clock of this one', () => {
    write(1_000_000, [
      [1000, 'keyed'],
      [3000, 'unkeyed'],
      [60_000, 'keyed'],
    ])
    // killed while keyed; the next process begins 100 s after the first, and this one 200 s
    write(1_100_000, [
      [500, 'keyed'],
      [900, 'unkeyed'],
    ])
    expect(pastFromLog(file, virtualClock(1_200_000), 8000)).toEqual({
      spans: [
        { fromMs: -199_000, toMs: -197_000 },
        { fromMs: -140_000, toMs: -132_000 },
        { fromMs: -99_500, toMs: -99_100 },
      ],
      owedSinceMs: -99_500,
    })
  })

  it('owes no call for what is long past, and believes no future', () => {
    write(1_000_000, [
      [1000, 'keyed'],
      [3000, 'unkeyed'],
    ])
    expect(pastFromLog(file, virtualClock(2_000_000), 8000)?.owedSinceMs).toBeUndefined()
    expect(pastFromLog(file, virtualClock(500_000), 8000)?.spans).toEqual([])
  })

  it('takes no file for no past, and other lines for none', () => {
    expect(pastFromLog(file, virtualClock(), 8000)).toBeUndefined()
    writeFileSync(file, 'not\na log\n2026-13-45T99:99:99.000Z 1.0 keyed\n')
    expect(pastFromLog(file, virtualClock(), 8000)?.spans).toEqual([])
  })
})
