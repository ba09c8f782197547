import { describe, expect, it } from 'vitest'
import { HillValley, shownBy } from './hillValley.js'

describe('two nodes', () => {
  it('pass a message on to where its receiver is heard, and tell its sender', async () => {
    const valley = new HillValley({ nodes: ['Q1AAA', 'Q2BBB'] })
    const sender = valley.person('Q3SND', 'Q1AAA')
    const receiver = valley.person('Q4RCV', 'Q2BBB')
    receiver.sendPosition(47.1, 11.2)
    await valley.run(70)
    sender.send('leave Q4RCV see you at the hut')
    await valley.run(40)
    receiver.sendPosition(47.1, 11.2)
    await valley.run(3)
    expect(shownBy(receiver)).toContain('1 message waits for you here. Send: collect')
    receiver.send('collect')
    await valley.run(40)
    expect(shownBy(receiver)).toContain('Q3SND: see you at the hut')
    sender.sendPosition(47, 11)
    await valley.run(40)
    expect(shownBy(sender)).toContain('Your message to Q4RCV was delivered: see you at the hut')
  })
})

describe('a message that its sender takes back', () => {
  it('while another hill has it: it ends there, and its sender is told; nobody else can', async () => {
    const valley = new HillValley({ nodes: ['Q1AAA', 'Q2BBB'] })
    const sender = valley.person('Q3SND', 'Q1AAA')
    const other = valley.person('Q5OTH', 'Q1AAA')
    const receiver = valley.person('Q4RCV', 'Q2BBB')
    receiver.sendPosition(47.1, 11.2)
    await valley.run(70)
    sender.send('leave Q4RCV see you at the hut')
    await valley.run(40)
    sender.send('mail')
    other.send('mail cancel 1')
    await valley.run(5)
    expect(shownBy(sender).at(-1)).toMatch(/^1 to Q4RCV, left \d+min ago, passed on: see you/)
    expect(shownBy(other).at(-1)).toBe('"1" is no message of yours. The list: mail')
    sender.send('mail cancel 1')
    await valley.run(5)
    expect(shownBy(sender)).toContain('Message 1 is on another hill: that is told to drop it.')
    await valley.run(90)
    receiver.send('collect')
    await valley.run(40)
    expect(shownBy(receiver)).not.toContain('Q3SND: see you at the hut')
    sender.sendPosition(47, 11)
    await valley.run(40)
    expect(shownBy(sender)).toContain('Your message to Q4RCV was withdrawn: see you at the hut')
    expect(valley.node('Q1AAA').store.mailbox.find(1)).toMatchObject({ state: 'withdrawn' })
  })
})

describe('three nodes in a row, with one frame in ten lost', () => {
  it('pass on a message over two hand-overs, a notice, and where a station is, within their share of the time', async () => {
    const valley = new HillValley({ nodes: ['Q1AAA', 'Q2BBB', 'Q3CCC'], loss: 0.1, seed: 3 })
    const sender = valley.person('Q3SND', 'Q1AAA')
    const receiver = valley.person('Q4RCV', 'Q3CCC')
    let worstUsedMs = 0
    const hours = async (count: number): Promise<void> => {
      for (let at = 0; at < count * 6; at++) {
        await valley.run(10)
        for (const { node } of valley.nodes)
          worstUsedMs = Math.max(worstUsedMs, node.state().hills!.usedMs)
      }
    }
    receiver.sendPosition(47.1, 11.2)
    await hours(3)
    sender.send('leave Q4RCV see you at the hut')
    sender.send('post road closed')
    await hours(3)
    sender.send('where Q4RCV')
    receiver.send('collect')
    await hours(1)
    receiver.send('board')
    await hours(3)
    expect(shownBy(receiver)).toContain('Q3SND: see you at the hut')
    expect(shownBy(receiver).some((text) => /^Q3SND .*: road closed$/.test(text))).toBe(true)
    expect(shownBy(sender).some((text) => text.startsWith('Q4RCV: '))).toBe(true)
    expect(shownBy(sender)).toContain('Your message to Q4RCV was delivered: see you at the hut')
    expect(worstUsedMs).toBeGreaterThan(0)
    expect(worstUsedMs).toBeLessThan(0.05 * 3_600_000 + 8_000)
  })
})
