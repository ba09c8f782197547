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
      ':TE6R     :TE1XX was not heard here.',
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

describe('queries with a message number', () => {
  const numbered = (node: ReturnType<typeof queryNode>) => {
    node.hear('TE7AA>APZ001:>direct')
    return { node, ack: ':TE6R     :ack12', reply: ':TE6R     :Directs= TE7AA' }
  }

  it('are acknowledged and answered once; repetitions are acknowledged again', async () => {
    const { node, ack, reply } = numbered(queryNode())
    ask(node, '?APRSD{12')
    await node.wait(10)
    expect(node.sentTexts()).toEqual([ack, reply])
    // as a radio repeats that did not hear it
    for (const waitS of [20, 40, 80]) {
      ask(node, '?APRSD{12')
      await node.wait(waitS)
      expect(node.sentTexts()).toEqual([ack])
    }
    expect(node.store.questions.recent(5)).toMatchObject([
      { text: '?APRSD', number: '12', state: 'answered' },
    ])
  })

  it('copies through digipeaters are part of one hearing', async () => {
    const { node, ack, reply } = numbered(queryNode())
    ask(node, '?APRSD{12')
    await node.wait(1)
    ask(node, '?APRSD{12', ',DIGI1*')
    await node.wait(1)
    ask(node, '?APRSD{12', ',DIGI1,DIGI2*')
    await node.wait(20)
    expect(node.sentTexts()).toEqual([ack, reply])
  })

  it('the reply-acknowledgement form comes back as it was sent', async () => {
    const { node, reply } = numbered(queryNode())
    ask(node, '?APRSD{12}AB')
    await node.wait(10)
    expect(node.sentTexts()).toEqual([':TE6R     :ack12}AB', reply])
  })

  it('every query: position, way, what waits, the same number for another one', async () => {
    const { node, ack } = numbered(queryNode())
    ask(node, '?APRSP{12')
    await node.wait(5)
    expect(node.sentTexts()).toEqual([ack, '=4903.50N/07201.75Wr'])
    ask(node, '?APRSM{13')
    await node.wait(5)
    expect(node.sentTexts()).toEqual([':TE6R     :ack13', ':TE6R     :No messages for you'])
    ask(node, '?APRSH TE7AA{12')
    await node.wait(5)
    expect(node.sentTexts()).toEqual([ack, expect.stringContaining('TE7AA HEARD: 1')])
  })

  it('one that has no answer, or is one too many, is rejected, so that it is not repeated', async () => {
    const { node } = numbered(queryNode())
    ask(node, '?APRSX{12')
    await node.wait(5)
    ask(node, '?APRSX{12')
    await node.wait(60)
    expect(node.sentTexts()).toEqual([':TE6R     :rej12', ':TE6R     :rej12'])
    for (let number = 20; number < 40; number++) {
      ask(node, `?APRSD{${number}`)
      await node.wait(2)
    }
    await node.wait(10)
    const texts = node.sentTexts()
    expect(texts.filter((text) => text.includes(':ack'))).toHaveLength(11)
    expect(texts.filter((text) => text.includes(':rej'))).toHaveLength(9)
    expect(texts.filter((text) => text.includes('Directs='))).toHaveLength(11)
  })

  it('a restart knows what was answered', async () => {
    const { node, ack, reply } = numbered(queryNode())
    ask(node, '?APRSD{12')
    await node.wait(10)
    expect(node.sentTexts()).toEqual([ack, reply])
    node.node.stop()
    const again = testNode({
      store: node.store,
      clock: node.clock,
      options: { call: 'TE5Q' },
      seed: 2,
    })
    ask(again, '?APRSD{12')
    await again.wait(60)
    expect(again.sentTexts()).toEqual([ack])
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
