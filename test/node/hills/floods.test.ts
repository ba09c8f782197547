import { describe, expect, it } from 'vitest'
import {
  type Bench,
  dayMs,
  entryOf,
  hourMs,
  ledgerBench,
  minuteMs,
  own,
  peer,
} from './ledgerBench.js'

const hear = ({ store, clock }: Bench, call: string, agoMs = 0, weather?: object): void =>
  store.stations.add({ call, atWallMs: clock.wallMs() - agoMs, radio: 0, via: [], weather })

/** What is made of what is known now. @returns kind and text of what is new */
function produced(bench: Bench, flood: { produce(): boolean }): string[] {
  const before = bench.rows().length
  let isNew = false
  bench.durably(() => {
    isNew = flood.produce()
  })
  const made = bench.rows().slice(before)
  expect(isNew).toBe(made.length > 0)
  return made.map(({ kind, text }) => `${kind}: ${text}`)
}

const wait = ({ clock }: Bench, ms: number): void => clock.advanceBy(ms)

function start(change: Parameters<typeof ledgerBench>[0] = {}) {
  const bench = ledgerBench(change)
  return { bench, flood: bench.make().floods }
}

const notice = (bench: Bench, questionId: string, from = 'Q3SND', life = {}) => {
  const postedWallMs = bench.clock.wallMs()
  const expiresWallMs = postedWallMs + 2 * hourMs
  const one = { questionId, from, text: `notice ${questionId}`, postedWallMs, expiresWallMs }
  bench.durably(() => bench.store.notices.insert({ ...one, expiryTrusted: true, ...life }))
}

describe('what a node tells all others', () => {
  it('is that it is there, where it has nothing else to tell', () => {
    const { bench, flood } = start()
    const wallMs = bench.clock.wallMs()
    expect(produced(bench, flood)).toEqual(['directory: -'])
    expect(bench.rows()).toEqual([
      {
        ...{ id: 1, entryId: expect.stringMatching(/^Q1OWN\.[A-Z2-7]{10}$/), kind: 'directory' },
        ...{ from: own, to: '*', subject: '', text: '-', writtenWallMs: wallMs },
        ...{ expiresWallMs: wallMs + 3 * dayMs, expiryTrusted: true, trace: '' },
        ...{ cameFrom: undefined, state: 'here', peer: undefined, outcome: undefined },
        local: undefined,
      },
    ])
    expect(produced(bench, flood)).toEqual([])
  })

  it('is told with a time that is not trusted while the clock is not', () => {
    const { bench, flood } = start()
    bench.state.isTrusted = false
    produced(bench, flood)
    expect(bench.rows().map(({ expiryTrusted }) => expiryTrusted)).toEqual([false])
  })

  it('is its news, once a day, and at once where they change', () => {
    const news = ['one', 'two']
    const { bench, flood } = start({ options: { news } })
    expect(produced(bench, flood)).toEqual(['directory: one\ntwo'])
    wait(bench, dayMs - 1)
    expect(produced(bench, flood)).toEqual([])
    wait(bench, 1)
    expect(produced(bench, flood)).toEqual(['directory: one\ntwo'])
    news.pop()
    expect(produced(bench, flood)).toEqual(['directory: one'])
    expect(bench.rows().map(({ state, outcome }) => [state, outcome])).toEqual([
      ['ended', 'replaced'],
      ['ended', 'replaced'],
      ['here', undefined],
    ])
  })

  it('is which stations it heard within three hours, each hour', () => {
    const { bench, flood } = start()
    hear(bench, 'Q4OLD', 3 * hourMs + 1)
    hear(bench, 'Q5BOB', 3 * hourMs)
    hear(bench, 'HUT', 0)
    hear(bench, 'Q3LAP-9', 12 * minuteMs)
    const text = 'stations: Q3LAP-9 12\nQ5BOB 180'
    expect(produced(bench, flood)).toEqual([text, 'directory: -'])
    const [row] = bench.rows('stations')
    expect(row!.expiresWallMs - row!.writtenWallMs).toBe(6 * hourMs)
    hear(bench, 'Q6NEW')
    wait(bench, hourMs - 1)
    expect(produced(bench, flood)).toEqual([])
    wait(bench, 1)
    expect(produced(bench, flood)).toEqual(['stations: Q6NEW 60\nQ3LAP-9 72'])
    expect(bench.rows('stations').map(({ outcome }) => outcome)).toEqual(['replaced', undefined])
  })

  it('is told each hour though nothing changed', () => {
    const { bench, flood } = start()
    hear(bench, 'Q3LAP-9', -minuteMs)
    expect(produced(bench, flood)).toEqual(['stations: Q3LAP-9 0', 'directory: -'])
    wait(bench, hourMs)
    expect(produced(bench, flood)).toEqual(['stations: Q3LAP-9 59'])
  })

  it('is told anew where the clock was set back by more than an hour', () => {
    const { bench, flood } = start()
    hear(bench, 'Q3LAP-9')
    produced(bench, flood)
    bench.state.wallOffsetMs = -hourMs + 1
    expect(produced(bench, flood)).toEqual([])
    bench.state.wallOffsetMs = -hourMs
    expect(produced(bench, flood)).toEqual(['stations: Q3LAP-9 0'])
    bench.state.wallOffsetMs = -3 * hourMs - 1
    hear(bench, 'Q4BOB')
    expect(produced(bench, flood)).toEqual([])
  })

  it('is thirty stations, the newest, though words were heard as often as these', () => {
    const { bench, flood } = start()
    for (let at = 0; at < 31; at++) hear(bench, `Q${at}AB`)
    for (let at = 0; at < 90; at++)
      hear(bench, `W${String.fromCharCode(65 + (at % 26))}${'AB'[at % 2]}${'ABCD'[at % 4]}`)
    const [stations] = produced(bench, flood)
    expect(stations?.split('\n')).toHaveLength(30)
    expect(stations).toContain('Q30AB')
    expect(stations).not.toContain('Q0AB')
  })

  it('is the weather of the last three hours', () => {
    const { bench, flood } = start()
    hear(bench, 'Q4WX', 3 * hourMs + 1, { temperatureC: 3 })
    hear(bench, 'Q3WX', 3 * hourMs, { temperatureC: 12.5 })
    expect(produced(bench, flood)).toEqual([
      ...['stations: Q3WX 180', 'weather: Q3WX 180 T12.5', 'directory: -'],
    ])
    const [row] = bench.rows('weather')
    expect(row!.expiresWallMs - row!.writtenWallMs).toBe(6 * hourMs)
    wait(bench, hourMs - 1)
    hear(bench, 'Q3WX', 0, { temperatureC: 13 })
    expect(produced(bench, flood)).toEqual([])
    wait(bench, 1)
    expect(produced(bench, flood)).toEqual(['stations: Q3WX 0', 'weather: Q3WX 0 T13'])
  })

  it('is each notice that was left here by a licensed sender, or one who is allowed, once', () => {
    const { bench, flood } = start({ options: { senders: ['mum'] } })
    produced(bench, flood)
    notice(bench, 'q1')
    const postedWallMs = bench.clock.wallMs()
    wait(bench, minuteMs)
    notice(bench, 'q2', 'HUT')
    notice(bench, 'q3', 'N0CALL')
    notice(bench, 'q4', 'MUM')
    notice(bench, 'hill Q2BBB.ABCDEFGHJK')
    expect(produced(bench, flood)).toEqual(['notice: notice q4', 'notice: notice q1'])
    expect(bench.rows('notice')[1]).toMatchObject({
      ...{ from: 'Q3SND', to: '*', subject: '', local: 'q1', trace: '', state: 'here' },
      ...{ writtenWallMs: postedWallMs, expiresWallMs: postedWallMs + 2 * hourMs },
      ...{ expiryTrusted: true, cameFrom: undefined },
    })
    expect(produced(bench, flood)).toEqual([])
  })

  it('is no notice past its time, while the clock is trusted', () => {
    const { bench, flood } = start()
    produced(bench, flood)
    const wallMs = bench.clock.wallMs()
    notice(bench, 'q1', 'Q3SND', { expiresWallMs: wallMs })
    notice(bench, 'q2', 'Q3SND', { expiresWallMs: wallMs, expiryTrusted: false })
    expect(produced(bench, flood)).toEqual(['notice: notice q2'])
    expect(bench.rows('notice')[0]?.expiryTrusted).toBe(false)
    bench.state.isTrusted = false
    expect(produced(bench, flood)).toEqual(['notice: notice q1'])
  })
})

describe('what others tell all', () => {
  const refusals = { node: { notices: { keepMs: dayMs, perSender: 2, total: 3 } } }

  it.each([
    ['a withdrawal of an id', { kind: 'withdrawal', text: 'Q2BBB.ABCDEFGHJK' }, undefined],
    ['a withdrawal of something else', { kind: 'withdrawal', text: 'Q2BBB' }, 'text'],
    ['stations of who heard them', { kind: 'stations', from: peer, text: 'a\nb' }, undefined],
    ['stations of somebody else', { kind: 'stations', from: 'Q3SND' }, 'from'],
    ['weather of somebody else', { kind: 'weather', from: 'Q3SND' }, 'from'],
    ['news of somebody else', { kind: 'directory', from: 'Q3SND' }, 'from'],
    ['a notice', { kind: 'notice' }, undefined],
    ['a notice of two lines', { kind: 'notice', text: 'one\ntwo' }, 'text'],
  ] as const)('%s', (_, change, reason) => {
    const { flood } = start(refusals)
    expect(flood.refusalOf(entryOf({ to: '*', ...change }))).toBe(reason)
  })

  it('is full with as many notices as may be, of one sender and in all; those past their time make room', () => {
    const { bench, flood } = start(refusals)
    const refusal = (from: string) => flood.refusalOf(entryOf({ kind: 'notice', to: '*', from }))
    notice(bench, 'q1', 'Q3SND')
    expect(refusal('Q3SND')).toBeUndefined()
    notice(bench, 'q2', 'Q3SND')
    expect(refusal('Q3SND')).toBe('full')
    expect(refusal('Q4BOB')).toBeUndefined()
    notice(bench, 'q3', 'Q5SUE')
    expect(refusal('Q4BOB')).toBe('full')
    wait(bench, 2 * hourMs)
    expect(refusal('Q4BOB')).toBeUndefined()
    expect(refusal('Q3SND')).toBeUndefined()
    bench.state.isTrusted = false
    expect(refusal('Q4BOB')).toBe('full')
    expect(refusal('Q3SND')).toBe('full')
  })

  const land = (bench: Bench, flood: ReturnType<Bench['make']>['floods'], change: object) => {
    let local: string | undefined
    const writtenWallMs = bench.clock.wallMs() - hourMs
    bench.durably(() => {
      local = flood.land(entryOf({ to: '*', ...change }), writtenWallMs, writtenWallMs + dayMs)
    })
    return local
  }

  it('is shown as a notice here', () => {
    const { bench, flood } = start()
    const wallMs = bench.clock.wallMs()
    const local = land(bench, flood, { kind: 'notice', text: 'road closed' })
    expect(local).toBe('hill Q2BBB.ABCDEFGHJK')
    expect(bench.store.notices.current(wallMs, 9)).toEqual([
      {
        ...{ id: 1, questionId: local, from: 'Q3SND', text: 'road closed', expiryTrusted: true },
        ...{ postedWallMs: wallMs - hourMs, expiresWallMs: wallMs + 23 * hourMs },
      },
    ])
    bench.durably(() => flood.remove({ kind: 'stations', trace: '', local }))
    bench.durably(() => flood.remove({ kind: 'notice', trace: '', local: undefined }))
    expect(bench.store.notices.current(wallMs, 9)).toHaveLength(1)
    bench.durably(() => flood.remove({ kind: 'notice', trace: '', local }))
    expect(bench.store.notices.current(wallMs, 9)).toEqual([])
    bench.state.isTrusted = false
    land(bench, flood, { kind: 'notice' })
    expect(bench.store.notices.current(wallMs, 9)[0]?.expiryTrusted).toBe(false)
  })

  it('is nine lines of news, numbered, and none where there are none', () => {
    const { bench, flood } = start()
    const text = Array.from({ length: 10 }, (_, at) => `line ${at}`).join('\n')
    expect(land(bench, flood, { kind: 'directory', text })).toBeUndefined()
    expect(bench.news).toEqual([
      ...['Q2BBB 1 line 0', 'Q2BBB 2 line 1', 'Q2BBB 3 line 2', 'Q2BBB 4 line 3', 'Q2BBB 5 line 4'],
      ...['Q2BBB 6 line 5', 'Q2BBB 7 line 6', 'Q2BBB 8 line 7', 'Q2BBB 9 line 8'],
    ])
    land(bench, flood, { kind: 'directory', text: '-' })
    expect(bench.news).toHaveLength(9)
  })

  it('is known of stations and weather, as from when it was written', () => {
    const bench = ledgerBench()
    const { floods, known } = bench.make()
    land(bench, floods, { kind: 'stations', text: 'Q3LAP 5' })
    land(bench, floods, { kind: 'weather', text: 'Q3WX 5 T12' })
    land(bench, floods, { kind: 'withdrawal', text: 'Q3DOG 5' })
    const heardWallMs = bench.clock.wallMs() - hourMs - 5 * minuteMs
    expect(known.find('Q3LAP')).toEqual({ call: 'Q3LAP', node: peer, heardWallMs })
    expect(known.find('Q3DOG')).toBeUndefined()
    expect(known.view(bench.store.stations).weather(dayMs)).toEqual([
      { call: 'Q3WX', node: peer, atWallMs: heardWallMs, temperatureC: 12, position: undefined },
    ])
    expect(bench.news).toEqual([])
  })

  it('takes the place of what the same node told of the same before, and of nothing else', () => {
    const { bench, flood } = start()
    const keep = (entryId: string, kind: string) =>
      bench.durably(() =>
        bench.store.hills.insert({
          ...{ entryId, kind, from: peer, to: '*', subject: '', text: 'x', writtenWallMs: 0 },
          ...{ expiresWallMs: 0, expiryTrusted: true, trace: peer, cameFrom: peer, state: 'here' },
          ...{ peer: undefined, outcome: undefined, local: undefined },
        }),
      )
    keep('Q2BBB.AAAAAAAAAA', 'stations')
    keep('Q2BBB.BBBBBBBBBB', 'weather')
    keep('Q3CCC.AAAAAAAAAA', 'stations')
    land(bench, flood, { kind: 'stations' })
    const states = () => bench.rows().map(({ outcome, state }) => outcome ?? state)
    expect(states()).toEqual(['replaced', 'here', 'here'])
    land(bench, flood, { kind: 'notice' })
    land(bench, flood, { kind: 'withdrawal' })
    expect(states()).toEqual(['replaced', 'here', 'here'])
  })

  it('is known again after a start, but not what this node told itself', () => {
    const bench = ledgerBench()
    const writtenWallMs = bench.clock.wallMs()
    const keep = (entryId: string, kind: string, text: string, trace: string) =>
      bench.store.hills.insert({
        ...{ entryId, kind, from: peer, to: '*', subject: '', text, writtenWallMs },
        ...{ expiresWallMs: writtenWallMs, expiryTrusted: true, trace, cameFrom: undefined },
        ...{ state: 'here', peer: undefined, outcome: undefined, local: undefined },
      })
    bench.durably(() => {
      keep('Q2BBB.AAAAAAAAAA', 'stations', 'Q3LAP 5', 'Q2BBB')
      keep('Q2BBB.BBBBBBBBBB', 'weather', 'Q3WX 5 T12', 'Q2BBB')
      keep('Q2BBB.CCCCCCCCCC', 'directory', 'Q4DIR 5 T12', 'Q2BBB')
      keep('Q1OWN.AAAAAAAAAA', 'stations', 'Q5OWN 5', '')
    })
    const { known } = bench.make()
    const heardWallMs = writtenWallMs - 5 * minuteMs
    expect(known.find('Q3LAP')).toEqual({ call: 'Q3LAP', node: peer, heardWallMs })
    expect(known.find('Q4DIR')).toBeUndefined()
    expect(known.find('Q5OWN')).toBeUndefined()
    expect(
      known
        .view(bench.store.stations)
        .weather(dayMs)
        .map(({ call }) => call),
    ).toEqual(['Q3WX'])
  })
})
