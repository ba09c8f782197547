import { describe, expect, it } from 'vitest'
import type { EmergencyReport } from '../../src/node/emergencyMarks.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { testNode } from './testNode.js'

const reply = 'Heard. This station is unattended: call for help by voice too.'
const micE = 'Q1ABC-7>332T6T:`(_fn"Oj/'
const node = () => {
  const reports: EmergencyReport[] = []
  return { ...testNode({ onEmergency: (report) => reports.push(report) }), reports }
}

describe('a call for help that is no message, while the radio is held', () => {
  it('is marked and told, not sent; after the release it is answered, once', async () => {
    const hut = node()
    hut.port.mode = 'refuse'
    hut.hear(micE)
    await hut.wait(60)
    expect(hut.reports).toHaveLength(1)
    expect(hut.port.sent).toEqual([])
    hut.hear('Q1ABC-7>APZ001:>EMERGENCY')
    await hut.wait(30)
    hut.port.mode = 'send'
    await hut.wait(10)
    expect(hut.sentTexts()).toEqual([expect.stringMatching(`:Q1ABC-7  :${reply}\\{\\w+`)])
    hut.hear(`Q1ABC-7>APZ001::N0DE-10  :ack${/\{(\w+)/.exec(hut.port.sent.at(-1)!.line)![1]}`)
    hut.hear(micE)
    await hut.wait(1_500)
    expect(hut.sentTexts().filter((line) => line.includes(reply))).toEqual([])
  })

  it('held for longer than an answer is of use: not answered', async () => {
    const hut = node()
    const lifeS = defaultNodeOptions({ call: 'N0DE-10' }).answers.notAfterMs / 1000
    hut.port.mode = 'refuse'
    hut.hear(micE)
    hut.hear('Q2ABC-7>APZ001:>EMERGENCY')
    await hut.wait(lifeS - 15)
    hut.hear('Q2ABC-7>APZ001:>EMERGENCY, still')
    await hut.wait(20)
    hut.port.mode = 'send'
    await hut.wait(60)
    // the one that was heard again; and no longer than that may wait
    const sent = new Set(hut.sentTexts())
    expect([...sent]).toEqual([expect.stringContaining(':Q2ABC-7  :')])
  })

  it('and then as a message after the release: one answer', async () => {
    const hut = node()
    hut.port.mode = 'refuse'
    hut.hear('Q1ABC-7>APZ001:>EMERGENCY')
    await hut.wait(12)
    hut.port.mode = 'send'
    hut.ask('Q1ABC-7', 'SOS leg broken{12')
    await hut.wait(20)
    // its repeats have the same number
    const sent = [...new Set(hut.sentTexts())]
    expect(sent.filter((line) => line.includes(reply))).toHaveLength(1)
    expect(sent).toContain(':Q1ABC-7  :ack12')
  })

  it('and the node is stopped: nothing is sent after that', async () => {
    const hut = node()
    hut.port.mode = 'refuse'
    hut.hear(micE)
    await hut.wait(2)
    hut.node.stop()
    hut.port.mode = 'send'
    await hut.wait(60)
    expect(hut.port.sent).toEqual([])
  })
})
