import { describe, expect, it } from 'vitest'
import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { checkClientFrame, refusalOf } from '../../src/radio/clientFrame.js'

const octetsOf = (line: string): Uint8Array => {
  const read = parseLine(line, { strict: false })
  if (!read.ok) throw new Error(read.reason)
  return encodeFrame(read.frame)
}
const check = (line: string) => checkClientFrame(octetsOf(line))
const reason = (line: string): string => {
  const checked = check(line)
  return checked.ok ? '' : checked.reason
}

describe("a client's frame on its way to the air", () => {
  it('is read where it is right', () => {
    const checked = check('Q7RDG-3>APZ000,Q6DIG*:>x')
    expect(checked).toMatchObject({ ok: true, frame: { source: { call: 'Q7RDG', ssid: 3 } } })
  })

  it('that is none has no frame, and one with something wrong has what was read', () => {
    expect(checkClientFrame(Uint8Array.of(1, 2, 3))).toEqual({
      ...{ ok: false, reason: expect.stringMatching(/^no AX\.25 frame: \S/) },
    })
    const wrong = check('Q7 DG>APZ000:>x')
    expect(wrong).toMatchObject({ ok: false, frame: { source: { call: 'Q7 DG' } } })
  })

  it.each([
    ['Q7RDG>APZ000,%61bc:>x', 'aBC'],
    ['Q7RDG>APZ000,WIDE1*,%61bc:>x', 'aBC'],
    ['Q7 DG>APZ000:>x', 'Q7 DG'],
    ['>APZ000:>x', ''],
  ])('%s: an address is 1 to 6 capital letters and digits', (line, call) => {
    const allowed = '1 to 6 capital letters and digits are allowed'
    expect(reason(line)).toBe(`'${call}' is not a call sign: ${allowed}`)
  })

  it.each([8, 9])('with %i digipeaters', (count) => {
    const said = reason(`Q7RDG>APZ000${',Q6DIG'.repeat(count)}:>x`)
    expect(said).toBe(count === 8 ? '' : '9 digipeaters: at most 8 are allowed')
  })

  it.each([1024, 1025])('with %i octets of information', (count) => {
    const said = reason(`Q7RDG>APZ000:${'x'.repeat(count)}`)
    expect(said).toBe(count === 1024 ? '' : '1025 octets of information: at most 1024 go')
  })
})

describe('who may send what', () => {
  const refusal = (line: string, permission: 'any' | 'own-call' | 'nothing', own = 'Q7RDG-10') => {
    const checked = check(line)
    if (!checked.ok) throw new Error(checked.reason)
    return refusalOf(checked.frame, permission, own)
  }
  const only = 'only Q7RDG with any SSID is allowed, or what Q7RDG has repeated'

  it.each([
    ['any', 'Q6BBS>APZ000:>x', undefined],
    ['nothing', 'Q7RDG>APZ000:>x', 'clients like this one may send nothing'],
    ['own-call', 'Q7RDG>APZ000:>x', undefined],
    ['own-call', 'Q7RDG-15>APZ000:>x', undefined],
    ['own-call', 'Q6BBS-7>APZ000:>x', `from Q6BBS-7: ${only}`],
    ['own-call', 'Q6BBS>APZ000,Q6DIG*,Q7RDG:>x', `from Q6BBS: ${only}`],
    ['own-call', 'Q6BBS>APZ000,Q6DIG*,WIDE2:>x', `from Q6BBS: ${only}`],
    ['own-call', 'Q6BBS>APZ000,Q7RDG-3*,WIDE2:>x', undefined],
  ] as const)('%s: %s', (permission, line, expected) => {
    expect(refusal(line, permission)).toBe(expected)
  })

  it("the licensee's call may be written in small letters, with an SSID or without", () => {
    expect(refusal('Q7RDG>APZ000:>x', 'own-call', 'q7rdg')).toBeUndefined()
    expect(refusal('Q6BBS>APZ000:>x', 'own-call', 'q7rdg-1')).toBe(`from Q6BBS: ${only}`)
  })
})
