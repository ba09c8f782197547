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
