import { describe, expect, it } from 'vitest'
import { hillsBench, talkOver } from './hillsBench.js'
import { entryOf, peer, putRow } from './ledgerBench.js'

describe('what is found of entries', () => {
  it('is the newest first, with what stands in any of their fields', () => {
    const bench = hillsBench()
    putRow(bench, { trace: peer })
    putRow(bench, { entryId: 'Q0FAR.AAAAAAAAAA', state: 'handed', peer, text: 'Road closed' })
    putRow(bench, { entryId: 'Q0FAR.BBBBBBBBBB', state: 'ended', outcome: 'expired' })
    const common = { kind: 'message', from: 'Q3SND', to: 'Q4RCV' }
    expect(bench.hills.find('')).toEqual([
      { ...common, id: 'Q0FAR.BBBBBBBBBB', text: 'hello', state: 'expired', peer: undefined },
      { ...common, id: 'Q0FAR.AAAAAAAAAA', text: 'Road closed', state: 'handed', peer },
      { ...common, id: 'Q2BBB.ABCDEFGHJK', text: 'hello', state: 'here', peer: undefined },
    ])
    expect(bench.hills.find(' closed  ').map(({ id }) => id)).toEqual(['Q0FAR.AAAAAAAAAA'])
    expect(bench.hills.find('EXPIRED')).toHaveLength(1)
    expect(bench.hills.find('hello Q')).toEqual([])
    expect(bench.hills.find('hellohere')).toEqual([])
    expect(bench.hills.state.openCount).toBe(2)
    bench.state.isBroken = true
    expect(bench.hills.find('')).toEqual([])
    expect(bench.hills.state.openCount).toBe(0)
  })

  it('is two hundred at most', () => {
    const bench = hillsBench()
    const letters = 'ABCDEFGHIJKLMNOP'
    bench.durably(() => {
      for (let at = 0; at < 201; at++)
        bench.store.hills.insert({
          ...{ entryId: `Q0FAR.AAAAAAAA${letters[at >> 4]}${letters[at & 15]}`, kind: 'notice' },
          ...{ from: 'Q3SND', to: '*', subject: '', text: 'x', writtenWallMs: 0, expiresWallMs: 0 },
          ...{
            expiryTrusted: true,
            trace: '',
            cameFrom: undefined,
            state: 'here',
            peer: undefined,
          },
          ...{ outcome: undefined, local: undefined },
        })
    })
    expect(bench.hills.find('')).toHaveLength(200)
  })
})

describe('what a sender takes back', () => {
  it('is told the node that has it', () => {
    const bench = hillsBench()
    expect(bench.hills.withdrawMessage('q1')).toBe(false)
    putRow(bench, { local: 'q1', state: 'handed', peer })
    putRow(bench, { entryId: 'Q0FAR.AAAAAAAAAA', kind: 'notice', local: 'q2' })
    expect(bench.hills.withdrawMessage('q2')).toBe(false)
    expect(bench.hills.withdrawMessage('q1')).toBe(true)
    expect(bench.rows('withdrawal')).toMatchObject([{ text: 'Q2BBB.ABCDEFGHJK' }])
    expect(bench.hills.withdraw('Q2BBB.AAAAAAAAAA')).toBeUndefined()
    expect(bench.hills.withdraw('Q0FAR.AAAAAAAAAA')).toMatch(/^withdrawn here/)
    const { reading } = bench.store
    bench.state.isBroken = true
    expect(bench.hills.withdrawMessage('q1')).toBe(false)
    bench.parts.store.reading = reading
    expect(bench.hills.withdrawMessage('q1')).toBe(false)
  })

  it('is known by its question as from elsewhere', () => {
    const { hills } = hillsBench()
    expect(hills.isFromElsewhere('hill Q2BBB.ABCDEFGHJK')).toBe(true)
    expect(hills.isFromElsewhere('q1')).toBe(false)
  })

  it('stations that others heard are seen by services', () => {
    const bench = hillsBench()
    bench.start()
    const talk = talkOver(bench.hills.sessionFor(peer)!)
    const { id } = entryOf()
    talk.say(`hill 1 ${peer} bbbbbbbb 0 0 ${'b'.repeat(16)}`, 'session 1')
    talk.say(`offer ${id} stations 7 *`, 'asked')
    talk.say(`entry ${id} stations ${peer} * 0 60 ${peer}`, 't Q7LAP 3', '.', 'given', 'end')
    expect(talk.said).toContain(`kept ${id}`)
    expect(bench.notes).toEqual([])
    const view = bench.hills.stationsView(bench.store.stations)
    expect(view.find('Q7LAP')?.via).toEqual([peer])
  })
})
