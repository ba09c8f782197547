import { describe, expect, it } from 'vitest'
import { pieceOctetsMax, readPiece } from '../../../src/node/broker/topics.js'
import { first, id, last, octets, own, startCarrier as start, timeLimitMs } from './carrierBench.js'

const toFirst = `air/${own}/to/${first}`
const toLast = `air/${own}/to/${last}`

describe('the way over a broker', () => {
  it('listens to what its neighbours say of being online, and to what they say to it', () => {
    const { carrier } = start()
    expect(carrier.topics).toEqual([
      ...['air/Q1AAA/online', 'air/Q1AAA/to/Q5OWN', 'air/Q9ZZZ/online', 'air/Q9ZZZ/to/Q5OWN'],
    ])
    expect([carrier.everyMs, carrier.turnOctets, carrier.openCount]).toEqual([7, 9, 0])
  })

  it('reaches who is online, while the broker is there', () => {
    const { broker, carrier, online, heard } = start()
    expect(carrier.reaches(first)).toBe(false)
    online(first)
    expect(heard()).toEqual([`reached ${first}`])
    expect([carrier.reaches(first), carrier.reaches(last)]).toEqual([true, false])
    broker.isUp = false
    expect(carrier.reaches(first)).toBe(false)
    broker.isUp = true
    online(first, false)
    expect(carrier.reaches(first)).toBe(false)
    expect(heard()).toEqual([])
    online(first)
    online(first, true, last)
    expect(carrier.reaches(first)).toBe(true)
    carrier.down()
    expect(carrier.reaches(first)).toBe(false)
  })

  it('counts what it leaves out, by reason', () => {
    const { carrier, piece, online } = start()
    carrier.message('air/Q7BAD/online', octets(''))
    carrier.message('air/Q1AAA/to/Q7BAD', octets(''))
    online(first, true, last)
    carrier.message(`air/${first}/to/${own}`, octets('nothing'))
    piece(first, id('a'), 0, 'call', 'x')
    piece(first, id('a'), 0, 'call', 'x')
    piece(first, id('c'), 0, 'call', 'x')
    piece(first, id('a'), 2, 'more', 'x')
    const ignored = carrier.ignored.endings.map((one) => `${one.count} ${one.what} ${one.reason}`)
    expect(ignored).toEqual([
      ...[
        '2 a topic of nobody ',
        '1 no word of being online QNAAA',
        '1 no piece of a session QNAAA',
      ],
      ...['1 a piece that came twice QNAAA', '1 a call while there is a session QNAAA'],
      '1 a gap in a session QNAAA',
    ])
  })
})

describe('a session that this node begins', () => {
  it('is called for once, and only with who is reached', () => {
    const { carrier, call, online, said, heard } = start()
    expect(call(first)).toBe(false)
    online(first)
    heard()
    expect(call(first)).toBe(true)
    expect(carrier.openCount).toBe(1)
    expect(call(first)).toBe(false)
    expect(heard()).toEqual([`to ${first} begins with ${first}`])
    expect(said()).toEqual([`${toFirst} b 0 call hello`])
  })

  it('goes on in numbered pieces, with an expiry and not retained, and ends with the last', () => {
    const { published, carrier, call, online, piece, said, heard, peers } = start()
    online(first)
    call(first)
    heard()
    piece(first, id('b'), 0, 'more', 'one')
    piece(first, id('b'), 1, 'more')
    peers[0]!.write(octets('two'))
    piece(first, id('b'), 2, 'end', 'three')
    expect(heard()).toEqual([
      ...[`to ${first} got one 0`, `to ${first} got three 0`, `to ${first} ended`],
      `over with ${first}`,
    ])
    expect(said()).toEqual([`${toFirst} b 0 call hello`, `${toFirst} b 1 more two`])
    expect(carrier.openCount).toBe(0)
    expect(published[0]!.message).toMatchObject({ retain: false, expiryMs: timeLimitMs })
  })

  it('is closed with a word, once; nothing is written into it after that', () => {
    const { carrier, call, online, said, heard, peers } = start()
    online(first)
    call(first)
    heard()
    said()
    const [peer] = peers
    peer!.setReady(false)
    peer!.close()
    peer!.close()
    expect(peer!.write(octets('x'))).toBe(false)
    expect(said()).toEqual([`${toFirst} b 1 end`])
    expect(heard()).toEqual([`to ${first} ended`, `over with ${first}`])
    expect(carrier.openCount).toBe(0)
  })

  it('that is closed before anything was said in it is not called for', () => {
    const { call, online, peers, said, state } = start()
    state.begins = ''
    online(first)
    call(first)
    peers[0]!.close()
    expect(said()).toEqual([`${toFirst} b 0 end`])
  })

  it('that is closed with the last piece of the other ends once', () => {
    const { call, online, piece, heard, said, state } = start()
    online(first)
    call(first)
    heard()
    said()
    state.closes = true
    piece(first, id('b'), 0, 'end', 'x')
    expect(heard()).toEqual([`to ${first} got x 0`, `to ${first} ended`, `over with ${first}`])
    expect(said()).toEqual([`${toFirst} b 1 end`])
  })

  it('is cut into pieces of what goes into one', () => {
    const { published, call, online, peers } = start()
    online(first)
    call(first)
    peers[0]!.write(new Uint8Array(2 * pieceOctetsMax + 1))
    peers[0]!.write(new Uint8Array(0))
    const pieces = published.slice(1).map(({ message }) => readPiece(message.payload)!)
    expect(pieces.map((one) => [one.number, one.word, one.octets.length])).toEqual([
      [1, 'more', pieceOctetsMax],
      [2, 'more', pieceOctetsMax],
      [3, 'more', 1],
    ])
  })

  it('takes no more than a million octets that the broker has not confirmed', () => {
    const { published, call, online, peers } = start()
    online(first)
    call(first)
    const [peer] = peers
    expect(peer!.waitingOctets).toBe(5)
    published[0]!.confirm(false)
    expect(peer!.waitingOctets).toBe(5)
    published[0]!.confirm(true)
    published[0]!.confirm(true)
    expect(peer!.waitingOctets).toBe(0)
    expect(peer!.write(new Uint8Array(1_000_001))).toBe(false)
    expect(peer!.write(new Uint8Array(1_000_000))).toBe(true)
    expect(peer!.write(new Uint8Array(1))).toBe(false)
    for (const { confirm } of published.slice(1)) confirm(true)
    expect(peer!.waitingOctets).toBe(0)
    expect(peer!.write(new Uint8Array(1))).toBe(true)
  })

  it('is over after the time limit without a word of the other', () => {
    const { clock, carrier, call, online, piece, heard } = start()
    online(first)
    online(last)
    call(first)
    call(last)
    clock.advanceTo(timeLimitMs / 2)
    piece(last, id('c'), 0, 'more', 'x')
    heard()
    clock.advanceTo(timeLimitMs)
    expect(carrier.openCount).toBe(2)
    clock.advanceTo(timeLimitMs * 1.25)
    expect(heard()).toEqual([`to ${first} ended`, `over with ${first}`])
    clock.advanceTo(timeLimitMs * 1.5)
    expect(carrier.openCount).toBe(1)
    clock.advanceTo(timeLimitMs * 1.75)
    expect(carrier.openCount).toBe(0)
  })
})

describe('a session that another node begins', () => {
  it('is taken, and goes on', () => {
    const { carrier, piece, said, heard } = start()
    piece(first, id('a'), 0, 'call', 'hill')
    piece(first, id('a'), 1, 'more', 'session')
    expect(heard()).toEqual([
      ...[`for ${first} begins with ${first}`, `for ${first} got hill 0`],
      `for ${first} got session 0`,
    ])
    expect(said()).toEqual([`${toFirst} a 0 more hello`])
    expect(carrier.openCount).toBe(1)
    piece(first, id('a'), 2, 'end')
    expect(heard()).toEqual([`for ${first} ended`])
    expect(carrier.openCount).toBe(0)
  })

  it('is not taken of a node that may not, nor twice, nor in the middle', () => {
    const { carrier, state, piece, said, heard } = start()
    state.isRefused = true
    piece(first, id('a'), 0, 'call', 'hill')
    state.isRefused = false
    piece(first, id('c'), 1, 'call', 'hill')
    piece(first, id('c'), 0, 'more', 'hill')
    piece(first, id('c'), 0, 'end', 'hill')
    piece(first, id('c'), 0, 'gone')
    expect(heard()).toEqual([])
    expect(said()).toEqual([`${toFirst} c 0 gone`, `${toFirst} c 0 gone`])
    piece(first, id('a'), 0, 'call', 'hill')
    piece(first, id('a'), 1, 'end')
    heard()
    piece(first, id('a'), 0, 'call', 'hill')
    expect(heard()).toEqual([])
    expect(carrier.openCount).toBe(0)
  })

  it('is not taken again after it was over, for so long as it is among the last two dozen', () => {
    const { carrier, piece, heard } = start()
    const letters = 'abcdefghijklmnopqrstuvwxyz'
    const oneAfterAnother = (from: string, to: number) => {
      for (const letter of letters.slice(letters.indexOf(from), to)) {
        piece(first, id(letter), 0, 'call', 'hill')
        piece(first, id(letter), 1, 'end')
      }
    }
    oneAfterAnother('a', 24)
    heard()
    piece(first, id('a'), 0, 'call', 'hill')
    expect(heard()).toEqual([])
    oneAfterAnother('y', 25)
    heard()
    piece(first, id('a'), 0, 'call', 'hill')
    expect(carrier.openCount).toBe(1)
  })

  it.each([
    [0, 0],
    [4_999, 0],
    [5_000, 1],
  ])('takes the place of one in which nothing came for %d ms: %d', (afterMs, taken) => {
    const { clock, carrier, piece, said, heard } = start()
    clock.advanceTo(2_000)
    piece(first, id('a'), 0, 'call', 'x')
    clock.advanceBy(3_000)
    piece(first, id('a'), 1, 'more', 'y')
    heard()
    said()
    clock.advanceBy(afterMs)
    piece(first, id('c'), 0, 'call', 'z')
    const begun = [
      `for ${first} ended`,
      `for ${first} begins with ${first}`,
      `for ${first} got z 0`,
    ]
    expect(heard()).toEqual(taken === 1 ? begun : [])
    expect(said()).toEqual(taken === 1 ? [`${toFirst} c 0 more hello`] : [])
    expect(carrier.openCount).toBe(1)
  })

  it('of whose call sorts first stands where both called', () => {
    const { carrier, call, online, piece, said, heard } = start()
    online(first)
    online(last)
    call(first)
    call(last)
    heard()
    said()
    piece(last, id('x'), 0, 'call', 'hill')
    expect(heard()).toEqual([])
    expect(said()).toEqual([])
    piece(first, id('y'), 0, 'call', 'hill')
    expect(heard()).toEqual([
      ...[`to ${first} ended`, `over with ${first}`, `for ${first} begins with ${first}`],
      `for ${first} got hill 0`,
    ])
    expect(said()).toEqual([`${toFirst} y 0 more hello`])
    expect(carrier.openCount).toBe(2)
  })

  it('does not take the place of one that was called for, and answered just now', () => {
    const { call, online, piece, heard } = start()
    online(first)
    call(first)
    piece(first, id('b'), 0, 'more', 'x')
    heard()
    piece(first, id('y'), 0, 'call', 'hill')
    expect(heard()).toEqual([])
  })
})

describe('what goes wrong in a session', () => {
  it('a piece that comes twice is left out', () => {
    const { piece, heard, said } = start()
    piece(first, id('a'), 0, 'call', 'x')
    piece(first, id('a'), 1, 'more', 'y')
    heard()
    said()
    piece(first, id('a'), 1, 'more', 'y')
    piece(first, id('a'), 0, 'call', 'x')
    expect(heard()).toEqual([])
    expect(said()).toEqual([])
  })

  it('a gap ends it, and the other is told', () => {
    const { piece, heard, said } = start()
    piece(first, id('a'), 0, 'call', 'x')
    heard()
    said()
    piece(first, id('a'), 2, 'more', 'z')
    expect(heard()).toEqual([`for ${first} ended`])
    expect(said()).toEqual([`${toFirst} a 0 gone`])
  })

  it('the other does not know it: it is over at once, whatever its number', () => {
    const { call, online, piece, heard, said } = start()
    online(last)
    call(last)
    heard()
    said()
    piece(last, id('b'), 0, 'gone')
    expect(heard()).toEqual([`to ${last} ended`, `over with ${last}`])
    expect(said()).toEqual([])
  })

  it('is told of at most some fifty that are not known, until the broker confirms', () => {
    const { published, piece, said } = start()
    for (let at = 0; at < 60; at++) piece(last, id('a'), 1, 'more')
    expect(said()).toEqual(Array.from({ length: 51 }, () => `${toLast} a 0 gone`))
    for (const { confirm } of published.slice(0, 2)) confirm(true)
    for (let at = 0; at < 9; at++) piece(last, id('a'), 1, 'more')
    expect(said()).toHaveLength(2)
  })
})

describe('what the broker has not confirmed', () => {
  it('is said again, in its order, when it is there again', () => {
    const { published, carrier, call, online, peers, said } = start()
    online(first)
    call(first)
    peers[0]!.write(octets('two'))
    peers[0]!.write(octets('three'))
    said()
    published[1]!.confirm(true)
    published[2]!.confirm(false)
    carrier.up()
    expect(said()).toEqual([`${toFirst} b 0 call hello`, `${toFirst} b 2 more three`])
    // What was said before the cut may be confirmed after it.
    published[0]!.confirm(true)
    carrier.up()
    expect(said()).toEqual([`${toFirst} b 2 more three`])
  })

  it('is not said again after the time limit', () => {
    const { clock, carrier, call, online, piece, said } = start()
    online(first)
    call(first)
    said()
    clock.advanceTo(timeLimitMs - 1)
    piece(first, id('b'), 0, 'more', 'x')
    carrier.up()
    expect(said()).toEqual([`${toFirst} b 0 call hello`])
    clock.advanceTo(timeLimitMs)
    carrier.up()
    expect(said()).toEqual([])
  })

  it('is not said again between two looks at the time either', () => {
    const { clock, carrier, call, online, piece, said } = start()
    clock.advanceTo(100)
    online(first)
    call(first)
    said()
    clock.advanceTo(timeLimitMs)
    piece(first, id('b'), 0, 'more', 'x')
    clock.advanceTo(timeLimitMs + 99)
    carrier.up()
    expect(said()).toEqual([`${toFirst} b 0 call hello`])
    clock.advanceTo(timeLimitMs + 100)
    carrier.up()
    expect(said()).toEqual([])
  })

  it('makes room after the time limit', () => {
    const { clock, carrier, piece, said } = start()
    for (let at = 0; at < 60; at++) piece(last, id('a'), 1, 'more')
    said()
    clock.advanceTo(timeLimitMs)
    piece(last, id('a'), 1, 'more')
    expect(said()).toEqual([`${toLast} a 0 gone`])
    expect(carrier.openCount).toBe(0)
  })
})

describe('the end of the program', () => {
  it('ends every session, and takes and says nothing after that', () => {
    const { clock, carrier, call, online, piece, said, heard } = start()
    online(first)
    online(last)
    call(first)
    piece(last, id('x'), 0, 'call', 'x')
    heard()
    said()
    carrier.stop()
    expect(heard()).toEqual([`to ${first} ended`, `over with ${first}`, `for ${last} ended`])
    online(first)
    piece(last, id('y'), 0, 'call', 'x')
    carrier.up()
    expect(clock.nextAtMs()).toBeUndefined()
    expect(heard()).toEqual([])
    expect(said()).toEqual([])
    expect(carrier.openCount).toBe(0)
  })
})
