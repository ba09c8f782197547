import { join } from 'node:path'
import { afterAll, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest'

/*
 * What the page makes of the stream, without a browser: what it reads and asks stands in for that.
 */

class Stream {
  static all: Stream[] = []
  static readonly CLOSED = 2
  readyState = 1
  onopen = (): void => {}
  onerror = (): void => {}
  onmessage = (_: { data: string; lastEventId: string }): void => {}
  constructor(readonly url: string) {
    Stream.all.push(this)
  }
  addEventListener(): void {}
  close(): void {
    this.readyState = 2
  }
  tell(id: string, ...items: object[]): void {
    this.onmessage({ data: JSON.stringify(items), lastEventId: id })
  }
}

const budget = { limits: [], spans: [], freeMs: 5000 }
const radio = {
  ...{ radio: 0, name: 'hill', receiving: true, channelBusy: false, keyed: false, holds: [] },
  ...{ queue: [], blockedBy: 'held', budget },
}
let version = '1'
let isClockTrusted = false
let past: object[] = []
const answers = (path: string): unknown =>
  path.includes('/events?limit')
    ? past
    : path.includes('/state')
      ? {
          ...{ cursor: 'boot-7', atWallMs: 1000, call: 'Q7RDG-10', version, radios: [radio] },
          visitor: { right: 'read', canLogIn: false },
          isClockTrusted,
        }
      : []

const page = {
  hidden: false,
  listeners: [] as (() => void)[],
  documentElement: { dataset: {}, lang: '' },
  addEventListener: (_: string, listener: () => void) => void page.listeners.push(listener),
}
const reload = vi.fn()
// biome-ignore lint/suspicious/noExplicitAny: the page's own types are of another project
let model: any

beforeAll(async () => {
  vi.useFakeTimers()
  vi.stubGlobal('document', page)
  vi.stubGlobal('EventSource', Stream)
  vi.stubGlobal('location', { reload })
  vi.stubGlobal('navigator', { language: 'en' })
  vi.stubGlobal('matchMedia', () => ({ matches: false, addEventListener: () => {} }))
  vi.stubGlobal('fetch', async (path: string) => ({ ok: true, json: async () => answers(path) }))
  await load()
})
/** As in a browser that opens the page: nothing is known of before. */
async function load(): Promise<void> {
  vi.resetModules()
  const source = (name: string): string => join(import.meta.dirname, '../../src/web/page', name)
  model = { ...(await import(source('model.ts'))), ...(await import(source('lines.ts'))) }
}
afterAll(() => {
  vi.unstubAllGlobals()
  vi.useRealTimers()
})
beforeEach(async () => {
  page.hidden = false
  await model.start()
})
const stream = (): Stream => Stream.all.at(-1)!
const shown = () => model.state.value.radios[0]

describe('what the page makes of the stream', () => {
  it('goes on where the state was read', () => {
    expect(stream().url).toBe('/api/v1/stream?spectrum=1&after=boot-7')
  })

  it('what a state does not name any more is gone; the budget comes by itself, and stays', () => {
    expect(shown()).toMatchObject({ blockedBy: 'held', budget })
    const { blockedBy: _, budget: __, ...free } = radio
    stream().tell('boot-8', { type: 'reading', at: 1, radio: 0, rmsDbfs: -20 })
    stream().tell('boot-9', { type: 'state', at: 2, radio: 0, state: { ...free, keyed: true } })
    expect(shown()).toMatchObject({ keyed: true, budget, reading: { rmsDbfs: -20 } })
    expect(shown().blockedBy).toBeUndefined()
    stream().tell('boot-10', { type: 'budget', at: 3, radio: 0, budget: { ...budget, freeMs: 1 } })
    expect(shown()).toMatchObject({ keyed: true, budget: { freeMs: 1 } })
  })

  it('that nobody hears the channel says of nobody that he sends', () => {
    const busy = (at: number) => ({ type: 'carrier', at, radio: 0, busy: true })
    const heard = (): object[] =>
      model.spans.value.filter(({ what, toWallMs }: { what: string; toWallMs?: number }) => {
        return what === 'heard' && toWallMs === undefined
      })
    const { budget: _, ...state } = radio
    stream().tell('boot-20', busy(1))
    expect(heard()).toHaveLength(1)
    const deaf = { ...state, receiving: false, channelBusy: true }
    stream().tell('boot-21', { type: 'state', at: 2, radio: 0, state: deaf })
    expect(heard()).toHaveLength(0)
    stream().tell('boot-22', busy(3))
    expect(heard()).toHaveLength(0)
  })

  it('faults of the node itself are added as they come; what the stream does not tell is read each minute', async () => {
    expect(model.state.value.faults).toBeUndefined()
    const fault = { type: 'event', kind: 'fault', text: 'the disk is full' }
    stream().tell('boot-30', { ...fault, at: 5, atWallMs: 5 })
    stream().tell('boot-31', { ...fault, at: 9, atWallMs: 9 })
    stream().tell('boot-32', { ...fault, text: 'no audio', radio: 0, at: 9, atWallMs: 9 })
    expect(model.state.value.faults).toEqual([{ atWallMs: 9, text: 'the disk is full' }])
    stream().tell('boot-33', { type: 'reading', at: 10, radio: 0, rmsDbfs: -20 })
    isClockTrusted = true
    for (let s = 0; s < 61; s++) {
      stream().tell(`boot-${34 + s}`, { type: 'reading', at: 10, radio: 0, rmsDbfs: -20 })
      await vi.advanceTimersByTimeAsync(1000)
    }
    expect(model.state.value).toMatchObject({ isClockTrusted: true })
    // The radios are as the stream has told them.
    expect(shown()).toMatchObject({ reading: { rmsDbfs: -20 } })
    // What the node does not name any more is over.
    expect(model.state.value.faults).toBeUndefined()
  })

  it('whom nobody sees asks for no rows, and goes on at what it read last', () => {
    const before = stream()
    before.tell('boot-12', { type: 'reading', at: 1, radio: 0, rmsDbfs: -20 })
    page.hidden = true
    for (const listener of page.listeners) listener()
    expect(before.readyState).toBe(2)
    expect(stream().url).toBe('/api/v1/stream?spectrum=0&after=boot-12')
    page.hidden = false
    for (const listener of page.listeners) listener()
    expect(stream().url).toBe('/api/v1/stream?spectrum=1&after=boot-12')
  })

  it('what happened while the page was opened stands there once, with what the stream knows of it', async () => {
    const heard = { radio: 0, kind: 'heard', station: 'Q1TST-3', text: 'on the hill' }
    past = [
      { id: 3, atWallMs: 1010, ...heard },
      { id: 2, atWallMs: 400, radio: 0, kind: 'asked', station: 'Q1TST-3', text: 'sun' },
    ]
    await model.start()
    past = []
    const frame = { type: 'frame', at: 990, radio: 0, from: 'Q1TST-3', repairedBits: 0 }
    stream().tell('boot-30', { ...frame, text: 'on the hill' })
    stream().tell('boot-31', { ...frame, at: 1500, text: 'on the hill' })
    vi.advanceTimersByTime(5000)
    const lines = model.entries.value.map(({ key, atWallMs, text }: Record<string, unknown>) => [
      String(key)[0],
      atWallMs,
      text,
    ])
    expect(lines).toEqual([
      ['f', 1500, 'on the hill'],
      ['f', 990, 'on the hill'],
      ['e', 400, 'sun'],
    ])
  })

  it('opened for the first time, knows what is for the node and what for others', async () => {
    await load()
    const heard = { radio: 0, kind: 'heard', station: 'Q1TST-3' }
    past = [
      { id: 5, atWallMs: 800, ...heard, text: 'message to Q7RDG-10: sun' },
      { id: 4, atWallMs: 600, ...heard, text: 'message to Q1ABC: at the hut' },
    ]
    await model.start()
    past = []
    const texts = model.entries.value.map(({ text }: { text: string }) => text)
    expect(texts).toEqual(['message to Q1ABC: at the hut'])
  })

  it("goes by the node's time, also when its clock is set", () => {
    const atWallMs = model.nodeNow()
    const read = (at: number): void =>
      stream().tell('boot-20', { type: 'reading', at, radio: 0, rmsDbfs: -20 })
    read(atWallMs - 400)
    expect(model.nodeNow()).toBe(atWallMs)
    read(atWallMs - 3_600_000)
    expect(model.nodeNow()).toBe(atWallMs - 3_600_000)
    vi.advanceTimersByTime(5000)
    expect(model.nodeNow()).toBe(atWallMs - 3_595_000)
    // What was missed while the connection was lost is of before.
    stream().onopen()
    read(atWallMs - 4_000_000)
    expect(model.nodeNow()).toBe(atWallMs - 3_595_000)
    read(atWallMs)
    expect(model.nodeNow()).toBe(atWallMs)
  })

  it('keeps no more lines than it shows in a flood, the newest first', () => {
    for (let count = 0; count < 2000; count++)
      stream().tell(`boot-${count}`, {
        ...{ type: 'event', at: count, atWallMs: count, kind: 'asked', station: 'Q1ABC' },
        ...{ radio: 0, text: `question ${count}` },
      })
    vi.advanceTimersByTime(5000)
    expect(model.entries.value).toHaveLength(300)
    expect(model.entries.value[0].text).toBe('question 1999')
    expect(model.spans.value.length).toBeLessThanOrEqual(400)
  })

  it('the first line is shown at once, those of a flood together', () => {
    vi.advanceTimersByTime(5000)
    let shownCount = 0
    const stop = model.entries.subscribe(() => shownCount++)
    shownCount = 0
    for (let count = 0; count < 100; count++)
      stream().tell(`boot-${count}`, {
        ...{ type: 'event', at: count, atWallMs: count, kind: 'asked', station: 'Q1ABC' },
        ...{ radio: 0, text: `more ${count}` },
      })
    expect(shownCount).toBe(1)
    vi.advanceTimersByTime(150)
    expect(shownCount).toBe(2)
    stop()
  })

  it('the page of another version of the program is fetched anew', async () => {
    expect(reload).not.toHaveBeenCalled()
    version = '2'
    await model.start()
    expect(reload).toHaveBeenCalledOnce()
  })
})
