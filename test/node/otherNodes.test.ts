import { describe, expect, it } from 'vitest'
import { otherNodes } from '../../src/node/otherNodes.js'
import type { NodeParts } from '../../src/node/serviceNode.js'

describe('other nodes and mail', () => {
  const conversing = {
    mail: { tellSoon: 'tell soon' },
    outbox: { add: (messages: unknown) => messages },
  } as never

  it('are nothing where nothing is configured', () => {
    const others = otherNodes({} as NodeParts)
    others.begin({} as never, conversing, {} as never)
    expect(others.told).toEqual({
      ...{ isFromElsewhere: undefined, withdrawElsewhere: undefined, emailEnded: undefined },
    })
    expect([others.hills, others.email, others.sessions()]).toEqual([undefined, undefined, {}])
  })

  it('are asked once they are there', () => {
    let needs: Record<string, unknown> = {}
    let mailNeeds: Record<string, unknown> = {}
    const asked: unknown[][] = []
    const does =
      (what: string, result: unknown) =>
      (...values: unknown[]) => {
        asked.push([what, ...values])
        return result
      }
    const hills = {
      ...{ isFromElsewhere: does('from elsewhere', true), withdrawMessage: does('withdraw', true) },
      ...{ sessionFor: does('session', 's'), meterFor: does('meter', 'm') },
    }
    const email = { entryEnded: does('ended', undefined) }
    const others = otherNodes({
      ...{ nextId: 'next id', ports: 'ports', options: 'options' },
      hills: (given: never) => {
        needs = given
        return hills
      },
      email: (given: never) => {
        mailNeeds = given
        return email
      },
    } as never)
    const { isFromElsewhere, withdrawElsewhere, emailEnded } = others.told
    expect([isFromElsewhere!('a'), withdrawElsewhere!('a')]).toEqual([false, false])
    expect(emailEnded!({} as never, 'delivered')).toBeUndefined()
    expect(others.sessions()).toEqual({})
    const bulletins: unknown[] = []
    const common = { clock: 'clock', store: 'store', note: 'note', newNumber: 'new number' }
    others.begin(common as never, conversing, {
      take: (one) => void bulletins.push(one),
    })
    expect([others.hills, others.email]).toEqual([hills, email])
    expect([isFromElsewhere!('a'), withdrawElsewhere!('b')]).toEqual([true, true])
    emailEnded!('entry' as never, 'expired')
    const { sessionFor, meterFor } = others.sessions()
    expect([sessionFor!('N0DE-11'), meterFor!('N0DE-11')]).toEqual(['s', 'm'])
    expect(asked).toEqual([
      ['from elsewhere', 'a'],
      ['withdraw', 'b'],
      ['ended', 'entry', 'expired'],
      ['session', 'N0DE-11'],
      ['meter', 'N0DE-11'],
    ])
    expect(needs).toMatchObject({
      ...{ ...common, nextId: 'next id', ports: 'ports', nodeOptions: 'options' },
      tellSoon: 'tell soon',
    })
    ;(needs.tellNews as (...values: unknown[]) => void)('N0DE-11', 3, 'Snow')
    expect(bulletins).toEqual([
      {
        from: 'N0DE-11',
        payload: {
          ...{ kind: 'bulletin', bulletinKind: 'bulletin', addressee: 'BLN3', id: '3' },
          text: 'Snow',
        },
      },
    ])
    expect(mailNeeds).toMatchObject({
      ...{ ...common, nextId: 'next id', nodeOptions: 'options', somethingWaitsFor: 'tell soon' },
      wordings: expect.objectContaining({ of: expect.any(Function) }),
    })
    expect((mailNeeds.send as (messages: unknown) => unknown)('all')).toBe('all')
  })
})
