import { createCarrierDetect } from './carrierDetect.js'
import { createCopyCombiner } from './copies/combine.js'
import {
  correlatorBankName,
  createCorrelatorBankDetector,
} from './correlators/correlatorDetector.js'
import { createSignalGate } from './correlators/signalGate.js'
import { createFrameMerger, type MergedFrame, type Span } from './frameMerger.js'
import { createAudioHistory } from './frontEnd/audioHistory.js'
import { createClippingLog } from './frontEnd/clippingLog.js'
import { createFrontEnd, workingRateHz } from './frontEnd/frontEnd.js'
import { createStillness } from './frontEnd/stillness.js'
import { isPlausibleFrame, isPlausibleRepair } from './plausible.js'
import { asHeard } from './quality/asHeard.js'
import { createSignalMeter, qualityMargin } from './quality/signalQuality.js'
import type {
  DamagedFrame,
  ReceivedFrame,
  Receiver,
  ReceiverCounters,
  ReceiverOptions,
} from './receivedFrame.js'
import type { SymbolListener } from './sequence/lineMetric.js'
import { createOffTuneDetectors } from './sequence/offTune.js'
import { createSequenceDetector } from './sequence/sequenceDetector.js'

/**
 * The whole receiver: front end, detectors side by side, one merged frame out with its measured quality. One value, sample after
 * sample, costs nearly nothing.
 * @throws RangeError for a sample rate outside 8000 to 192000 Hz
 */
export function createReceiver(options: ReceiverOptions): Receiver {
  const receiver = createListeningReceiver(options)
  // Receivers of one channel go by one clock: each must listen to as much as the others.
  if (options.combiner !== undefined) return receiver
  const { sampleRateHz } = options
  const stillness = createStillness(sampleRateHz, (historySamples * sampleRateHz) / workingRateHz)
  const moved = <One extends DamagedFrame>(one: One): One => ({
    ...one,
    firstSample: stillness.inputAt(one.firstSample),
    lastSample: stillness.inputAt(one.lastSample),
  })
  const listening =
    (frames: ReceivedFrame[]) =>
    (samples: Float32Array): void => {
      for (const frame of receiver.push(samples)) frames.push(moved(frame))
    }
  return {
    push(block) {
      const frames: ReceivedFrame[] = []
      stillness.pass(block, listening(frames))
      return frames
    },
    finish() {
      const frames: ReceivedFrame[] = []
      stillness.finish(listening(frames))
      return [...frames, ...receiver.finish().map(moved)]
    },
    takeDamaged: () => receiver.takeDamaged().map(moved),
    get channelBusy() {
      return receiver.channelBusy
    },
    counters: receiver.counters,
  }
}

function createListeningReceiver(options: ReceiverOptions): Receiver {
  const { sampleRateHz, il2p } = options
  const counters: ReceiverCounters = { frames: 0, repaired: 0, fcsRejected: 0, implausible: 0 }
  const inputPerWorking = sampleRateHz / workingRateHz
  const frontEnd = createFrontEnd(sampleRateHz)
  const history = createAudioHistory(historySamples)
  const clipping = createClippingLog(Math.ceil(historySamples * inputPerWorking))
  const merger = createFrameMerger(holdSamples, isBelievable)
  const meter = createSignalMeter()
  const carrier = createCarrierDetect({ onAnySignal: options.busyOnAnySignal === true })
  const correlators = createCorrelatorBankDetector(merger)
  const gate = createSignalGate(correlators, history)
  const offTune = createOffTuneDetectors(merger, options.repair, history)
  const combiner = options.combiner ?? createCopyCombiner(options.repair)
  const onSymbol: SymbolListener = (signs) => {
    carrier.note(signs)
    gate.note(signs)
    offTune.note(signs)
  }
  const sequence = createSequenceDetector(merger, options.repair, onSymbol, {
    ...{ il2p, combiner, onBlock: offTune.noteBlock },
  })

  const finished = (merged: MergedFrame): ReceivedFrame => {
    const from = Math.round(merged.startSample) - qualityMargin
    const to = Math.round(merged.endSample) + qualityMargin
    const signal = meter.measure(history.slice(from, to), merged.octets, merged.levels)
    const toInput = (position: number): number =>
      Math.max(0, Math.round((from + position) * inputPerWorking))
    const firstSample = toInput(signal.startSample)
    const lastSample = toInput(signal.endSample)
    return {
      ...whatWasRead(merged),
      ...{ firstSample, lastSample },
      quality: {
        ...asHeard(signal.quality),
        clippedShare: clipping.share(firstSample, lastSample),
        preambleFlags: merged.precedingFlags,
      },
    }
  }
  const deliver = (position: number): readonly ReceivedFrame[] => {
    const taken = merger.take(position)
    counters.fcsRejected = merger.damagedCount
    if (taken.length === 0) return nothing
    const frames = taken.filter(({ octets }) => isPlausibleFrame(octets))
    counters.implausible += taken.length - frames.length
    counters.frames += frames.length
    counters.repaired += frames.filter((frame) => frame.repairedBits > 0).length
    return frames.map(finished)
  }

  /** Delivers at fixed moments of the stream, so that the frames do not depend on the borders of blocks. */
  const run = (block: Float32Array): ReceivedFrame[] => {
    const frames: ReceivedFrame[] = []
    const start = history.end
    history.append(block)
    let at = 0
    while (at < block.length) {
      const next = Math.min(block.length, at + stepSamples - ((start + at) % stepSamples))
      sequence.process(block.subarray(at, next))
      if ((start + next) % stepSamples === 0) {
        gate.follow(start + next)
        offTune.follow(start + next)
        frames.push(...deliver(start + next))
      }
      at = next
    }
    return frames
  }

  return {
    push(block) {
      const frames: ReceivedFrame[] = []
      for (let at = 0; at < block.length; at += blockSamplesMax) {
        const part = block.subarray(at, at + blockSamplesMax)
        clipping.append(part)
        frames.push(...run(frontEnd.process(part)))
      }
      return frames
    },
    finish() {
      const frames = run(frontEnd.flush())
      gate.follow(history.end)
      correlators.finish?.()
      sequence.finish?.()
      offTune.follow(history.end)
      offTune.finish()
      return [...frames, ...deliver(Number.POSITIVE_INFINITY)]
    },
    takeDamaged: () => merger.takeDamaged().map(damagedFrameAt(inputPerWorking)),
    get channelBusy() {
      return carrier.busy || offTune.busy
    },
    counters,
  }
}

const whatWasRead = ({ octets, detector, repairedBits, code, copies }: MergedFrame) => ({
  ...{ octets, detector, repairedBits, code },
  ...(copies !== undefined && { copies }),
})

const damagedFrameAt =
  (inputPerWorking: number) =>
  ({ startSample, endSample }: Span): DamagedFrame => ({
    firstSample: Math.max(0, Math.round(startSample * inputPerWorking)),
    lastSample: Math.max(0, Math.round(endSample * inputPerWorking)),
  })

/**
 * The many decoders of the correlator bank all look at every damaged frame, each with a chance of its own to find its FCS
 * right. What fewer than five of them saw must make sense in every field; the sequence detector looks at it anyway.
 */
const isBelievable = ({ detector, votes, octets }: MergedFrame): boolean =>
  detector !== correlatorBankName || votes >= 5 || isPlausibleRepair(octets)

/** Audio kept for measuring: longer than the longest frame (2048 octets last 13.7 s, zero insertion may add a fifth). */
const historySamples = 20 * workingRateHz

/** How long a frame waits for the reports of slower detectors, and for the audio that follows it: 20 ms. */
const holdSamples = 240

const nothing: readonly ReceivedFrame[] = []

/** Frames are handed out at multiples of this many working samples: every 10 ms. */
const stepSamples = 120

/** Longer blocks are worked through in parts, so that what is kept always covers the frames in them. */
const blockSamplesMax = 16_384
