import { describe, expect, it } from 'vitest'
import { ConnectedBench } from '../node/connected/connectedBench.js'

const sabm = { type: 'U', name: 'SABM', pollFinal: true } as const
const disc = { type: 'U', name: 'DISC', pollFinal: true } as const

describe('limits of connected mode', () => {
  it('a line of 512 octets is taken, one of 513 is left out', async () => {
    const bench = new ConnectedBench()
    const peer = await bench.connect('Q7LAP')
    const line = (octets: number): string => `echo ${'x'.repeat(octets - 5)}\r`
    expect(await bench.say(peer, line(512), 40)).toContain('x'.repeat(507))
    expect(await bench.say(peer, line(513), 40)).toContain('Line left out')
  })

  it('a letter of so many characters, and so many of a station', async () => {
    const bench = new ConnectedBench('letterOctets = 100\nlettersPerStation = 2')
    const peer = await bench.connect('Q7LAP')
    const letter = (octets: number): string => `letter Q1ABC a\r${'x'.repeat(octets - 1)}\r.\r`
    expect(await bench.say(peer, letter(101), 30)).toContain('Not kept: longer than 100')
    expect(await bench.say(peer, letter(100), 30)).toContain('Letter 1 for Q1ABC is kept')
    expect(await bench.say(peer, letter(100), 30)).toContain('Letter 2 for Q1ABC is kept')
    expect(await bench.say(peer, 'letter Q1ABC a\r', 30)).toContain(
      'You have 2 letters here already',
    )
  })

  it('a station may call twelve times in ten minutes', async () => {
    const bench = new ConnectedBench()
    for (let call = 1; call <= 13; call++) {
      bench.hear('Q7LAP', sabm)
      await bench.run(15)
      bench.hear('Q7LAP', disc)
      await bench.run(15)
    }
    expect(bench.events('connected')).toHaveLength(12)
    expect(bench.events('refused')).toEqual(['Q7LAP: a connection: it called too often'])
  })
})
