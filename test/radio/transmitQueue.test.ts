import { describe, expect, it } from 'vitest'
import { type Priority, priorities } from '../../src/radio/port.js'
import { createTransmitQueue, leavesReserve, type Waiting } from '../../src/radio/transmitQueue.js'

const item = (id: string, priority: Priority = 'answer', notAfterMs = 1000): Waiting => ({
  ...{ id, priority, notAfterMs, origin: 'node', sinceMs: 0 },
  content: { kind: 'frame', octets: new Uint8Array(), identifies: true },
})

function queueOf(itemsMax: number, ...items: Waiting[]) {
  const queue = createTransmitQueue(itemsMax)
  for (const one of items) queue.add(one)
  return { queue, ids: () => queue.items.map(({ id }) => id) }
}

describe('the queue of a radio', () => {
  it('has each priority before all that are less urgent, and equals in the order in which they came', () => {
    const shuffled = ['beacon', 'client', 'mailbox', 'digipeat', 'refusal', 'repeat', 'answer']
      .concat('emergency', 'acknowledgement', 'identification')
      .map((priority) => item(`${priority} 1`, priority as Priority))
    const again = shuffled.map((one) => item(one.id.replace('1', '2'), one.priority))
    const { ids } = queueOf(20, ...shuffled, ...again)
    expect(ids()).toEqual(priorities.flatMap((priority) => [`${priority} 1`, `${priority} 2`]))
  })

  it('full: lets in what is more urgent than the last, which goes; equals are not let in', () => {
    const { queue, ids } = queueOf(2, item('a'), item('b', 'beacon'))
    expect(queue.add(item('c', 'beacon'))?.id).toBe('c')
    expect(queue.add(item('d'))?.id).toBe('b')
    expect(queue.add(item('e'))?.id).toBe('e')
    expect(queue.add(item('f', 'acknowledgement'))?.id).toBe('d')
    expect(ids()).toEqual(['f', 'a'])
    expect(queueOf(0).queue.add(item('a'))?.id).toBe('a')
    const three = queueOf(3, item('a'), item('b'), item('c', 'beacon'))
    expect(three.queue.add(item('d', 'client'))?.id).toBe('c')
  })

  it('tells when the next one expires, and gives out all whose time is over', () => {
    const { queue, ids } = queueOf(9)
    expect(queue.nextExpiryMs()).toBeUndefined()
    for (const one of [item('a', 'answer', 500), item('b', 'answer', 300), item('c')])
      queue.add(one)
    expect(queue.nextExpiryMs()).toBe(300)
    expect(queue.takeExpired(299)).toEqual([])
    expect(queue.takeExpired(500).map(({ id }) => id)).toEqual(['a', 'b'])
    expect([ids(), queue.nextExpiryMs()]).toEqual([['c'], 1000])
  })

  it('gives out one by its id, and loses those that are named', () => {
    const [a, b, c] = [item('a'), item('b'), item('c')]
    const { queue, ids } = queueOf(9, a, b, c)
    expect([queue.take('b'), queue.take('b'), queue.take('x')]).toEqual([b, undefined, undefined])
    expect(ids()).toEqual(['a', 'c'])
    queue.remove([c])
    expect(ids()).toEqual(['a'])
  })
})

it('what is less urgent than an emergency leaves the reserve to it', () => {
  expect(priorities.filter((priority) => !leavesReserve(priority))).toEqual([
    ...['identification', 'acknowledgement', 'emergency'],
  ])
})
