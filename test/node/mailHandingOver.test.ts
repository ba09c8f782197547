import { describe, expect, it } from 'vitest'
import { heldNames, hourMs, mailBench, minuteMs, question } from './mailBench.js'

describe('a station that is heard', () => {
  it('is told how much waits, in one message that is of use for an hour', () => {
    const bench = mailBench()
    bench.entry()
    bench.entry({ to: 'N0CALL', text: 'more' })
    bench.box.stationHeard('N0CALL-8', 2)
    const createdWallMs = bench.clock.wallMs()
    expect(bench.outgoing).toEqual([
      {
        ...{ id: 1, kind: 'prompt', to: 'N0CALL-8', number: '101', replyTo: undefined },
        text: '2 messages wait for you here. Send: collect',
        ...{ questionId: undefined, mailboxId: undefined, radio: 2, state: 'waiting' },
        ...{ attempts: 0, createdWallMs, notAfterWallMs: createdWallMs + hourMs },
        ...{ endedWallMs: undefined, reason: undefined },
      },
    ])
    expect(bench.store.mailbox.find(2)).toMatchObject({
      ...{ promptCount: 1, promptedWallMs: createdWallMs, state: 'waiting' },
    })
  })

  it('is told again after two hours, five times in all, whichever way the clock was set', () => {
    const bench = mailBench()
    bench.entry()
    const heard = (): number => {
      bench.box.stationHeard('N0CALL-8', 0)
      return bench.given().length
    }
    expect(heard()).toBe(1)
    bench.clock.advanceBy(2 * hourMs - 1)
    expect(heard()).toBe(0)
    bench.clock.advanceBy(1)
    expect(heard()).toBe(1)
    bench.durably(() => bench.store.mailbox.notePrompt([1], bench.clock.wallMs() + 3 * hourMs))
    expect([heard(), heard()]).toEqual([1, 0])
    bench.clock.advanceBy(2 * hourMs)
    expect(heard()).toBe(1)
    bench.clock.advanceBy(2 * hourMs)
    expect(heard()).toBe(0)
    // what is new is told with the old
    bench.entry({ text: 'new' })
    bench.box.stationHeard('N0CALL-8', 0)
    expect(bench.given()).toEqual([
      'prompt to N0CALL-8 105: 2 messages wait for you here. Send: collect',
    ])
  })

  it('is told nothing where nothing waits, nor once the node is stopped', () => {
    const bench = mailBench()
    bench.box.stationHeard('N0CALL-8', 0)
    bench.entry()
    bench.box.stationHeard('N0CALL-9', 0)
    bench.box.stop()
    bench.box.stationHeard('N0CALL-8', 0)
    expect(bench.given()).toEqual([])
  })

  it.each([
    ['on-request', 'the mailbox'],
    ['on-request', 'telling that something waits'],
    ['at-once', 'handing over what waits'],
  ] as const)('is told nothing (%s) while the database fails at %s', (deliver, failing) => {
    const bench = mailBench({ deliver })
    bench.entry()
    bench.world.failing = failing
    bench.box.stationHeard('N0CALL-8', 0)
    expect(bench.outgoing).toEqual([])
    expect(bench.store.mailbox.find(1)).toMatchObject({ state: 'waiting', promptCount: 0 })
    // and at once when it does not any more
    bench.world.failing = ''
    bench.box.stationHeard('N0CALL-8', 0)
    expect(bench.outgoing).toHaveLength(1)
  })

  it('gets what waits, by option, each with a number that it keeps', () => {
    const bench = mailBench({ deliver: 'at-once' })
    bench.entry()
    bench.box.stationHeard('N0CALL-8', 2)
    const createdWallMs = bench.clock.wallMs()
    expect(bench.outgoing).toMatchObject([
      {
        ...{ kind: 'mailbox', to: 'N0CALL-8', number: '101', text: 'N0CALL-7: hello', radio: 2 },
        ...{ mailboxId: 1, questionId: undefined, replyTo: undefined, state: 'waiting' },
        ...{ createdWallMs, notAfterWallMs: createdWallMs + hourMs },
      },
    ])
    expect(bench.store.mailbox.find(1)).toMatchObject({
      ...{ state: 'sending', number: '101', collectedBy: 'N0CALL-8', promptCount: 0 },
    })
    bench.durably(() => bench.store.mailbox.setWaiting(1))
    bench.clock.advanceBy(15 * minuteMs)
    bench.box.stationHeard('N0CALL-8', 0)
    expect(bench.outgoing[1]).toMatchObject({ number: '101' })
  })

  it('gets it again a quarter of an hour after it was tried in vain, and what is new at once', () => {
    const bench = mailBench({ deliver: 'at-once' })
    bench.entry()
    bench.box.stationHeard('N0CALL-8', 0)
    bench.clock.advanceBy(20 * minuteMs)
    bench.durably(() => bench.box.carrierEnded(bench.carrier(), 'given up', 'x'))
    bench.clock.advanceBy(15 * minuteMs - 1)
    bench.given()
    bench.box.stationHeard('N0CALL-8', 0)
    expect(bench.given()).toEqual([])
    bench.entry({ text: 'new' })
    bench.box.stationHeard('N0CALL-8', 0)
    expect(bench.given()).toEqual(['mailbox to N0CALL-8 102: N0CALL-7: new'])
    bench.clock.advanceBy(1)
    bench.box.stationHeard('N0CALL-8', 0)
    expect(bench.given()).toEqual(['mailbox to N0CALL-8 101: N0CALL-7: hello'])
  })

  it('gets nothing sooner because something else was tried meanwhile', () => {
    const bench = mailBench({ deliver: 'at-once' })
    bench.entry()
    bench.box.stationHeard('N0CALL-8', 0)
    bench.clock.advanceBy(5 * minuteMs)
    bench.entry({ text: 'new' })
    bench.box.stationHeard('N0CALL-8', 0)
    bench.durably(() => bench.store.mailbox.setWaiting(1))
    bench.given()
    bench.clock.advanceBy(10 * minuteMs - 1)
    bench.box.stationHeard('N0CALL-8', 0)
    expect(bench.given()).toEqual([])
  })

  it('gets unasked what it asked for before, and what is for its name; of the rest it is told', () => {
    const bench = mailBench({}, { names: heldNames({ CHECK3: 'N0CALL-8' }) })
    bench.sending({ text: 'asked for' })
    bench.durably(() => bench.store.mailbox.setWaiting(1))
    bench.entry({ text: 'other' })
    bench.entry({ to: 'CHECK3', text: 'by name' })
    bench.box.stationHeard('N0CALL-8', 0)
    expect(bench.given()).toEqual([
      'mailbox to N0CALL-8 55: N0CALL-7: asked for',
      'mailbox to N0CALL-8 101: N0CALL-7: by name',
      'prompt to N0CALL-8 102: 1 message waits for you here. Send: collect',
    ])
  })
})

describe('a station that collects', () => {
  it('takes what waits, with numbers, and what is under way to it already', () => {
    const bench = mailBench()
    bench.sending({ text: 'under way' })
    bench.entry()
    bench.entry({ to: 'N0CALL-9' })
    const leftWallMs = bench.clock.wallMs()
    expect(bench.box.collect(question('N0CALL-8', 'Q9-x'))).toEqual([
      { id: 'B2', from: 'N0CALL-7', text: 'hello', leftWallMs, shown: false },
      { id: 'B1', from: 'N0CALL-7', text: 'under way', leftWallMs, shown: false },
    ])
    expect(bench.store.mailbox.find(2)).toMatchObject({
      ...{ state: 'sending', number: '101', collectedBy: 'N0CALL-8', collectQuestionId: 'Q9-x' },
    })
    expect(bench.store.mailbox.find(3)?.state).toBe('waiting')
    // asked again it says the same, each once
    expect(bench.box.collect(question('N0CALL-8', 'Q9-x'))).toHaveLength(2)
  })

  it('has it carried with its answer, once, in the number that it had before', () => {
    const bench = mailBench()
    bench.sending({ text: 'again' })
    bench.durably(() => bench.store.mailbox.setWaiting(1))
    bench.entry()
    bench.box.collect(question('N0CALL-8', 'Q9-x'))
    bench.world.open = [2]
    expect(bench.durably(() => bench.box.collectedBy('Q8-x', 3))).toEqual([])
    const carried = bench.durably(() => bench.box.collectedBy('Q9-x', 3))
    expect(carried).toMatchObject([
      {
        ...{ kind: 'mailbox', to: 'N0CALL-8', number: '55', text: 'N0CALL-7: again', radio: 3 },
        mailboxId: 1,
      },
    ])
    expect(bench.durably(() => bench.box.collectedBy('Q9-x', 3))).toEqual([])
  })

  it('has nothing carried of what ended meanwhile', () => {
    const bench = mailBench()
    bench.entry()
    bench.box.collect(question('N0CALL-8', 'Q9-x'))
    bench.durably(() => bench.store.mailbox.end(1, 'withdrawn', 1))
    expect(bench.durably(() => bench.box.collectedBy('Q9-x', 3))).toEqual([])
  })

  it('is told where the database cannot be used, and it waits on', () => {
    const bench = mailBench()
    bench.entry()
    bench.world.failing = 'what a station collects'
    expect(bench.box.collect(question('N0CALL-8', 'Q9-x'))).toBe('out-of-order')
    expect(bench.events).toMatchObject([
      { kind: 'fault', text: 'the mailbox', station: 'N0CALL-8', reference: 'Q9' },
    ])
    expect(bench.states()).toEqual(['B1 waiting'])
    bench.world.failing = ''
    expect(bench.durably(() => bench.box.collectedBy('Q9-x', 0))).toEqual([])
  })
})

describe('a name that another station holds now', () => {
  const held: Record<string, string> = { CHECK3: 'N0CALL-9', BASE: 'nobody', CHECK4: 'N0CALL-8' }

  it('has what is under way to the former one taken back, and tried at once', () => {
    const bench = mailBench({}, { names: heldNames(held) })
    for (const to of ['CHECK3', 'BASE', 'CHECK4', 'N0CALL-8']) bench.sending({ to })
    bench.box.namesChanged()
    const reason = 'its name is held by another station now'
    expect(bench.givenUp).toEqual([`B1: ${reason}`, `B2: ${reason}`])
  })

  it('gets it as soon as it is heard, though it was tried just now', () => {
    const changing = { CHECK3: 'N0CALL-8' }
    const bench = mailBench({}, { names: heldNames(changing) })
    bench.entry({ to: 'CHECK3' })
    bench.box.stationHeard('N0CALL-8', 0)
    changing.CHECK3 = 'N0CALL-9'
    bench.box.namesChanged()
    bench.durably(() => bench.store.mailbox.setWaiting(1))
    bench.given()
    bench.box.stationHeard('N0CALL-9', 0)
    expect(bench.given()).toEqual(['mailbox to N0CALL-9 101: N0CALL-7: hello'])
  })

  it('has nothing taken back where no names are configured, or the database cannot be read', () => {
    const without = mailBench()
    without.sending({ to: 'CHECK3' })
    without.box.namesChanged()
    const bench = mailBench({}, { names: heldNames(held) })
    bench.sending({ to: 'CHECK3' })
    bench.world.failing = 'the mailbox'
    bench.box.namesChanged()
    expect([without.givenUp, bench.givenUp]).toEqual([[], []])
  })
})

describe('a start', () => {
  it('puts back what was under way, but what a message or an open question still carries', () => {
    const bench = mailBench({}, { names: heldNames({ CHECK3: 'N0CALL-9' }) })
    bench.sending({ text: 'carried' })
    bench.carrier()
    bench.sending({ text: 'lost' })
    const asked = bench.durably(() =>
      bench.store.questions.insert({
        ...{ from: 'N0CALL-8', addressee: 'N0DE-10', number: '1', text: 'collect', radio: 0 },
        ...{ heardWallMs: bench.clock.wallMs(), ownPart: 'x' },
      }),
    )
    bench.sending({ text: 'asked for' }, 'N0CALL-8', asked.uniqueId)
    bench.sending({ text: 'by a question that ended' }, 'N0CALL-8', 'Q77-x')
    bench.sending({ to: 'CHECK3' }, 'N0CALL-8', asked.uniqueId)
    bench.box.start()
    expect(bench.states()).toEqual([
      ...['B1 sending', 'B2 waiting', 'B3 sending', 'B4 waiting', 'B5 sending'],
    ])
    expect(bench.givenUp).toEqual(['B5: its name is held by another station now'])
  })

  it('that cannot be written leaves them', () => {
    const bench = mailBench()
    bench.sending()
    bench.world.failing = 'the mailbox after a restart'
    bench.box.start()
    expect(bench.states()).toEqual(['B1 sending'])
  })
})

describe('one text to several', () => {
  it('is told with what became of each', () => {
    const bench = mailBench()
    expect(bench.box.leftForSeveral!('N0CALL-7')).toBeUndefined()
    bench.entry({ questionId: 'Q1-x>Q1A', to: 'Q1A' })
    bench.entry({ questionId: 'Q2-x>Q2A', to: 'Q2A', text: 'newer' })
    bench.entry({ questionId: 'Q2-x>Q3A', to: 'Q3A', text: 'newer' })
    bench.durably(() => bench.store.mailbox.end(2, 'delivered', 1))
    expect(bench.box.leftForSeveral!('N0CALL-7')).toEqual({
      text: 'newer',
      receivers: [
        { to: 'Q2A', state: 'delivered' },
        { to: 'Q3A', state: 'waiting' },
      ],
    })
  })
})
