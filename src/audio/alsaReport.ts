import type { ChildEnd } from '../devices/child.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import type { SampleFormat } from './audioDevice.js'

/** Reads what arecord and aplay say on standard error (with -v, in English). */
export interface AlsaReport {
  push(text: string): void
  /** the device is open and set up */
  readonly ready: boolean
  /** the rate at which the device really runs; undefined until ready */
  readonly sampleRateHz: number | undefined
  /** overruns of a recording, underruns of a playback */
  readonly lapses: number
  /** the last two lines that were not part of the set-up report: the cause, and what became of it */
  readonly complaints: readonly string[]
}

const complaintsMax = 2

/** @param onLapse called for each overrun or underrun */
export function createAlsaReport(onLapse: () => void, onReady: () => void): AlsaReport {
  const complaints: string[] = []
  let rest = ''
  let ready = false
  let sampleRateHz: number | undefined
  let lapses = 0

  const line = (text: string): void => {
    const rate = /^ {2}rate +: (\d+)/.exec(text)
    if (rate !== null) sampleRateHz ??= Number(rate[1])
    else if (/^(over|under)run!!!/.test(text)) {
      lapses++
      onLapse()
    } else if (/^ {2}boundary +:/.test(text)) {
      // The last line of the first set-up; those of inner plugins follow.
      if (!ready) {
        ready = true
        onReady()
      }
    } else if (!isReport(text)) {
      complaints.push(text.trim())
      if (complaints.length > complaintsMax) complaints.shift()
    }
  }

  return {
    push(text) {
      const lines = (rest + text).split('\n')
      // A line without end must not grow without limit.
      rest = lines.pop()!.slice(-1000)
      for (const each of lines) line(each)
    },
    get ready() {
      return ready
    },
    get sampleRateHz() {
      return sampleRateHz
    },
    get lapses() {
      return lapses
    },
    complaints,
  }
}

const isReport = (text: string): boolean =>
  text.trim() === '' ||
  /^(Recording|Playing) raw data/.test(text) ||
  /^ {2}\w[\w ]*: /.test(text) ||
  /^(Its setup is:|Slave: |.* PCM( \(.*\))?$|Plug PCM|Hardware PCM|Rate conversion|Route conversion|Format conversion)/.test(
    text,
  )

const advices: readonly [RegExp, string][] = [
  [/failed to execute|no such program/, 'install alsa-utils, which brings arecord and aplay'],
  [
    /No such file or directory|No such device|Unknown PCM/,
    'see "levels --list"; is it plugged in?',
  ],
  [
    /Device or resource busy/,
    'another program has the device; two radios on one card share it as dsnoop:… for input and dmix:… for output',
  ],
  [/Permission denied/, 'the user who runs this must be in the group "audio"'],
  [
    /(format|[Cc]hannels count|Rate .*) non available|not available/,
    'write plughw: in place of hw:, or change audio.sampleFormat, audio.channelCount or audio.rateHz',
  ],
]

/** The end of arecord or aplay that nobody asked for, as a Failure 'audio-device'. */
export function alsaFailure(
  name: string,
  end: ChildEnd,
  report: AlsaReport,
  expected: string,
): Failure {
  const said = report.complaints.map(withoutPlace).join('; ')
  const how =
    (end.startError && errorText(end.startError)) ??
    (end.signal === null ? `it ended with status ${end.exitCode}` : `it was ended by ${end.signal}`)
  const got = said === '' ? how : plainComplaints(report.complaints)
  const advice = advices.find(([pattern]) => pattern.test(said === '' ? how : said))?.[1]
  return new Failure({
    code: 'audio-device',
    subject: name,
    got,
    expected,
    ...(advice === undefined ? {} : { advice }),
    cause: end.startError,
  })
}

/** The device runs at another rate than it was asked for. */
export function rateFailure(name: string, gotHz: number, wantedHz: number): Failure {
  return new Failure({
    code: 'audio-device-rate',
    subject: name,
    got: `a device that runs at ${gotHz} samples a second`,
    expected: `${wantedHz}`,
    advice: `set audio.rateHz = ${gotHz}, or write plughw: in place of hw:`,
  })
}

/** 'arecord: main:831: audio open error' to 'audio open error'; 'ALSA lib pcm.c:2666:(name) text' to 'text' */
const withoutPlace = (line: string): string =>
  line.replace(/^(arecord|aplay): \w+:\d+: /, '').replace(/^ALSA lib \S+:\(\w+\) /, '')

/** What it says of a device that cannot be opened, in words for a person; anything else as it stands. */
function plainComplaints(complaints: readonly string[]): string {
  const plain = complaints.map(withoutPlace).map((text) => {
    const card = /^Cannot get card index for (.+)$/.exec(text)?.[1]
    return card === undefined ? text : `no sound card is called ${card}`
  })
  const named = plain.filter((text) => !/^audio open error: No such (device|file)/.test(text))
  const kept = named.length > 0 ? named : plain
  return kept
    .map((text) => text.replace(/^audio open error: (.+)$/, (_, why) => errorText(new Error(why))))
    .join('; ')
}

/** ALSA's names of our sample formats. @see arecord(1), option --format */
export const alsaFormats: Readonly<Record<SampleFormat, string>> = {
  u8: 'U8',
  s16le: 'S16_LE',
  s16be: 'S16_BE',
  s24le: 'S24_3LE',
  s32le: 'S32_LE',
  f32le: 'FLOAT_LE',
  f64le: 'FLOAT64_LE',
}
