import { describe, expect, it } from 'vitest'
import { testNode } from './testNode.js'

/** Queries and the form of their answers: APRS reference, chapter 15, as in test/published/aprs.json. */
const queryNode = () =>
  testNode({
    options: {
      call: 'TE5Q',
      position: { latitudeDeg: 49.0583333, longitudeDeg: -72.0291667 },
      status: 'Net Control Center',
    },
  })
const ask = (node: ReturnType<typeof queryNode>, query: string, path = '') =>
  node.hear(`TE6R>APZ001${path}::TE5Q     :${query}`)

describe("the reference's queries to one station", () => {
  it('are answered without acknowledgement, once for all copies', async () => {
    const node = queryNode()
    node.hear('TE7AA>APZ001:>direct')
    node.hear('TE8BB>APZ001:>direct too')
    node.hear('TE9CC>APZ001,DIGI1*:>not direct')
    ask(node, '?APRSD')
    ask(node, '?APRSD', ',DIGI1*')
    await node.wait(120)
    expect(node.sentTexts()).toEqual([':TE6R     :Directs= TE8BB TE7AA'])
  })

  it('?APRSH counts the last eight hours, this one first', async () => {
    const node = queryNode()
    for (const [hours, count] of [
      [7, 6],
      [6, 5],
      [5, 4],
      [2, 2],
      [1, 3],
      [0, 1],
    ] as const) {
      node.clock.advanceTo((7 - hours) * 3_600_000)
      for (let index = 0; index < count; index++) node.hear(`TE9CC>APZ001:>${hours} ${index}`)
    }
    ask(node, '?APRSHTE9CC    ')
    ask(node, '?APRSHTE1XX    ')
    await node.wait(60)
    expect(node.sentTexts()).toEqual([
      ':TE6R     :TE9CC HEARD: 1 3 2 . . 4 5 6',
      ':TE6R     :TE1XX not heard',
    ])
  })

  it('?APRST and ?PING? show the way of the query', async () => {
    const node = queryNode()
    ask(node, '?APRST', ',DIGI1,WIDE*')
    await node.wait(60)
    ask(node, '?PING?', ',DIGI1,WIDE*')
    await node.wait(60)
    const text = ':TE6R     :TE5Q>APZ001,DIGI1,WIDE*:'
    expect(node.sentTexts()).toEqual([text, text])
  })

  it('?APRSP, ?APRSS and ?APRSM send position, status, and what waits', async () => {
    const node = queryNode()
    ask(node, '?APRSP')
    ask(node, '?APRSS')
    await node.wait(5)
    expect(node.sentTexts()).toEqual(['=4903.50N/07201.75Wr', '>Net Control Center'])
    ask(node, 'echo Testing{1')
    await node.wait(5)
    expect(node.sentTexts()[1]).toBe(':TE6R     :Testing{101')
    ask(node, '?APRSM')
    await node.wait(2)
    expect(node.sentTexts()).toEqual([':TE6R     :Testing{101'])
    ask(node, 'ack101')
    await node.wait(60)
    ask(node, '?APRSM')
    await node.wait(60)
    expect(node.sentTexts()).toEqual([':TE6R     :No messages for you'])
  })
})

describe('queries to everybody', () => {
  it('?WX? is left to weather stations (ch. 15), though their reports are known here', async () => {
    const node = queryNode()
    node.hear('TE5WX>APZ001:!4903.50N/07201.75W_220/004g005t077')
    node.hear('TE6R>APZ001:?WX?')
    await node.wait(120)
    expect(node.sentTexts()).toEqual([])
    expect(node.events.map(({ reason }) => reason)).toContain(
      'the query WX is for other kinds of stations',
    )
  })

  it('are answered after a random wait, inside the area asked only', async () => {
    const node = queryNode()
    node.hear('TE6R>APZ001:?APRS?')
    await node.wait(4)
    expect(node.sentTexts()).toEqual([])
    await node.wait(60)
    expect(node.sentTexts().sort()).toEqual(['=4903.50N/07201.75Wr', '>Net Control Center'])
    node.hear('TE6R>APZ001:?APRS? 34.02,-117.15,0200')
    node.hear('TE6R>APZ001:?IGATE?')
    await node.wait(120)
    expect(node.sentTexts()).toEqual([])
    expect(node.events.map(({ reason }) => reason)).toContain('we are outside the area asked')
  })
})
