import { describe, expect, it } from 'vitest'
import { statePayload } from '../../../src/node/broker/siteState.js'

const read = (payload: Uint8Array): unknown => JSON.parse(Buffer.from(payload).toString())

describe('what is told of a site', () => {
  it('is figures with their units, and null for what is not known', () => {
    const radio = { number: 0, name: 'radio', receiving: true, keyed: false, dutyUsed: 0.123456 }
    const told = statePayload({
      ...{ call: 'Q1HIL-5', wallMs: Date.UTC(2026, 5, 21, 16) },
      radios: [
        { ...radio, level: { rmsDbfs: -23.456, peakDbfs: -9 }, heldBy: ['operator', 'file'] },
        { ...radio, number: 1, level: undefined, heldBy: [] },
      ],
      telemetry: [
        { name: 'Box', unit: 'C', value: 4.5 },
        { name: 'Battery', unit: 'V', value: undefined },
      ],
    })
    const common = { name: 'radio', receiving: true, keyed: false, dutyUsedPercent: 12.3 }
    const unknown = { levelDbfs: null, peakDbfs: null }
    expect(read(told)).toEqual({
      ...{ form: 1, call: 'Q1HIL-5', atUtc: '2026-06-21T16:00:00.000Z' },
      radios: [
        { ...common, number: 0, levelDbfs: -23.5, peakDbfs: -9, heldBy: ['file', 'operator'] },
        { ...common, number: 1, ...unknown, heldBy: [] },
      ],
      telemetry: [
        { name: 'Box', value: 4.5, unit: 'C' },
        { name: 'Battery', value: null, unit: 'V' },
      ],
    })
  })

  it('is JSON whatever a card reads, and leaves out what is not told', () => {
    const level = { rmsDbfs: Number.NEGATIVE_INFINITY, peakDbfs: Number.NaN }
    const radio = { number: 0, name: '"\n', receiving: false, keyed: false, dutyUsed: 0 }
    const radios = [{ ...radio, level, heldBy: [] }]
    expect(read(statePayload({ call: 'Q1', wallMs: undefined, radios }))).toMatchObject({
      ...{ atUtc: null, radios: [{ name: '"\n', levelDbfs: null, peakDbfs: null }] },
    })
    const bare = read(statePayload({ call: 'Q1', wallMs: undefined })) as object
    expect(Object.keys(bare)).toEqual(['form', 'call', 'atUtc'])
  })
})
