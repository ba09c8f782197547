import { describe, expect, it } from 'vitest'
import { tapPort } from '../../src/radio/tapPort.js'
import { own, radio } from './coreBench.js'
import { request } from './fixtures.js'

describe('what is really sent through a port', () => {
  it('is told once, when its transmission ended; what is refused, or sent by others, is not', async () => {
    const { core, clock, outcomes } = radio()
    const told: [string, number][] = []
    const tapped = tapPort(core, (octets, atMs) =>
      told.push([Buffer.from(octets).toString('latin1').slice(-1), Math.round(atMs)]),
    )
    core.start()
    await clock.advanceToAsync(100)
    core.hold('operator', 'for lunch')
    tapped.send(request('a', own('x')))
    tapped.send(request('b', own('y')))
    core.send(request('c', own('z')))
    await clock.advanceToAsync(1000)
    expect(outcomes.map(({ kind }) => kind)).toContain('held')
    expect(told).toEqual([])
    tapped.withdraw('b')
    tapped.release('operator')
    await clock.advanceToAsync(20_000)
    const sent = outcomes.filter(({ kind }) => kind === 'sent')
    expect(sent.map(({ id }) => id)).toEqual(['a', 'c'])
    expect(told).toEqual([['x', Math.round(sent[0]!.atMs)]])
    // the same again is another one
    tapped.send(request('a', own('w')))
    await clock.advanceToAsync(40_000)
    expect(told.map(([what]) => what)).toEqual(['x', 'w'])
  })
})
