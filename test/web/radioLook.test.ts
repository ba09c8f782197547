import { afterEach, expect, it } from 'vitest'
import type { RadioPort } from '../../src/radio/radioPort.js'
import type { RadioReport } from '../../src/radio/radioWatch.js'
import type { EventStream, StreamItem } from '../../src/web/eventStream.js'
import type { PageParts } from '../../src/web/parts.js'
import { lookAtRadios } from '../../src/web/radioLook.js'
import { pageBench } from './pageBench.js'

let bench: Awaited<ReturnType<typeof pageBench>> | undefined
afterEach(async () => {
  await bench?.close()
  bench = undefined
})

it('with each reading goes the most frequent cause of the damaged frames of late', async () => {
  bench = await pageBench()
  const { clock, node, core } = bench
  let tell = (_: RadioReport): void => {}
  const port = Object.assign(Object.create(core) as RadioPort, {
    watch(_: unknown, listener: (report: RadioReport) => void) {
      tell = listener
      return () => {}
    },
  })
  const told: StreamItem[] = []
  const stream = { publish: (item: StreamItem) => void told.push(item) } as unknown as EventStream
  lookAtRadios({ clock, node, ports: [port] } as unknown as PageParts, stream).look(false)
  const damaged = (...causeKinds: string[]): void =>
    tell({
      ...{ kind: 'damaged', fromWallMs: 1, toWallMs: 2, levelDbfs: -20, toneBalanceDb: 0 },
      ...{ cause: 'in words', causeKinds },
    })
  const losses = (): unknown => {
    tell({
      ...{ kind: 'reading', atWallMs: 3, rmsDbfs: -20, peakDbfs: -10, clippedShare: 0 },
      ...{ readCount: 1, repairedCount: 0, damagedCount: 1 },
    })
    return told.findLast(({ type }) => type === 'reading')!.losses
  }
  expect(losses()).toBeUndefined()
  damaged('weak')
  damaged('hum', 'weak')
  damaged('hum')
  damaged('weak')
  expect(losses()).toEqual({ cause: 'weak', count: 3, of: 4 })
  // What was long ago counts no more.
  for (let count = 0; count < 100; count++) damaged('echo')
  expect(losses()).toEqual({ cause: 'echo', count: 100, of: 100 })
  expect(told.find(({ type }) => type === 'damaged')).not.toHaveProperty('causeKinds')
})
