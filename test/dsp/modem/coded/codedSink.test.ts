import { expect, it } from 'vitest'
import { fx25Codes } from '../../../../dsp/fec/fx25.js'
import { codedSink } from '../../../../dsp/modem/coded/codedSink.js'
import type { CandidateFrame } from '../../../../dsp/modem/detector.js'

const segment = {
  ...{ octetsWithFcs: Uint8Array.of(1, 2, 3, 4, 5), fcsRight: true, precedingFlags: 3 },
  ...{ start: 20, end: 60 },
}
const sampleOf = (symbol: number): number => 1000 + 10.01 * symbol

const heard = () => {
  const frames: CandidateFrame[] = []
  const spans: { startSample: number; endSample: number }[] = []
  const sink = {
    frame: (frame: CandidateFrame) => {
      frames.push(frame)
    },
    damaged: () => expect.fail('nothing is damaged'),
    expect: (span: { startSample: number; endSample: number }) => {
      spans.push(span)
    },
  }
  return { frames, spans, sink }
}

it('a frame is told without its FCS and where it stood in the audio', () => {
  const { frames, sink } = heard()
  codedSink(sink, 'by hand', sampleOf).frame(segment, 100)
  expect(frames).toEqual([
    {
      ...{ octets: Uint8Array.of(1, 2, 3), startSample: sampleOf(120), endSample: sampleOf(160) },
      ...{ precedingFlags: 3, repairedBits: 0, detector: 'by hand' },
    },
  ])
})

it.each([0, 7])('with check octets it says that %i octets were corrected', (correctedOctets) => {
  const { frames, sink } = heard()
  codedSink(sink, 'by hand', sampleOf).frame(segment, 0, correctedOctets)
  expect(frames[0]!.code).toEqual({ kind: 'FX.25', correctedOctets })
})

it('a block lasts from its tag of 64 bits to its end, ten samples a symbol', () => {
  const { spans, sink } = heard()
  const block = { code: fx25Codes[3]!, firstSymbol: 200, endSymbol: 584 }
  codedSink(sink, 'by hand', sampleOf).blockBegins(block)
  expect(spans).toEqual([{ startSample: sampleOf(136), endSample: sampleOf(136) + 4480 }])
  const { expect: _none, ...rest } = sink
  codedSink(rest, 'by hand', sampleOf).blockBegins(block)
  expect(spans).toHaveLength(1)
})
