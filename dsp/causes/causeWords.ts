// The causes in words: the only place where they are said, whoever shows them.
import type { Cause } from './causes.js'

/** What is wrong, in a few words: '2200 Hz tone 9 dB low'. */
export function causeName(cause: Cause): string {
  switch (cause.kind) {
    case 'noise':
      return `weak: Eb/N0 ${cause.ebN0Db.toFixed(0)} dB`
    case '2200 Hz low':
      return `2200 Hz tone ${cause.db.toFixed(0)} dB low`
    case '2200 Hz high':
      return `2200 Hz tone ${cause.db.toFixed(0)} dB high`
    case '4 kHz low':
      return `4 kHz comes ${cause.db.toFixed(0)} dB weaker than 400 Hz`
    case '4 kHz high':
      return `4 kHz comes ${cause.db.toFixed(0)} dB stronger than 400 Hz`
    case 'noise at 9600':
      return 'its band was flat'
    case 'clipping':
      return `${(100 * cause.share).toFixed(1)} % of samples clipped`
    case 'hum':
      return cause.overDb > -6
        ? `hum at ${cause.hz} Hz, ${besideSignal(cause.overDb)}`
        : `buzz of ${cause.hz} Hz mains between the tones`
    case 'sub-audible tone':
      return `sub-audible tone of ${cause.hz.toFixed(1)} Hz, ${besideSignal(cause.overDb)}`
    case 'echo':
      return `echo after ${cause.delayMs.toFixed(1)} ms`
    case 'clicks':
      return cause.isCrash
        ? `${cause.count} ${cause.count === 1 ? 'burst' : 'bursts'} of loud noise`
        : `clicks, ${cause.perSecond.toFixed(0)} a second`
    case 'slip':
      return `samples lost ${cause.atS.toFixed(2)} s after its start`
    case 'off-tune':
      return `both tones ${Math.abs(cause.hz).toFixed(0)} Hz ${cause.hz > 0 ? 'high' : 'low'}`
    case 'short preamble':
      return 'its beginning is missing'
    case 'collision':
      return cause.atS > 0.02
        ? `a second signal ${cause.atS.toFixed(2)} s after its start`
        : 'a second signal on top of it'
  }
}

const besideSignal = (overDb: number): string =>
  overDb >= 0
    ? `${overDb.toFixed(0)} dB over the signal`
    : `${(-overDb).toFixed(0)} dB below the signal`

/** Without figures, where several losses are told together: 'weak'. */
function causeKindName(cause: Cause): string {
  switch (cause.kind) {
    case 'noise':
      return 'weak'
    case '2200 Hz low':
      return '2200 Hz tone low'
    case '2200 Hz high':
      return '2200 Hz tone high'
    case '4 kHz low':
      return '4 kHz comes weaker than 400 Hz'
    case '4 kHz high':
      return '4 kHz comes stronger than 400 Hz'
    case 'clipping':
      return 'samples clipped'
    case 'hum':
      return cause.overDb > -6 ? 'hum' : 'buzz of mains'
    case 'sub-audible tone':
    case 'echo':
      return cause.kind
    case 'clicks':
      return cause.isCrash ? 'loud noise' : 'clicks'
    case 'slip':
      return 'samples lost'
    case 'off-tune':
      return `both tones ${cause.hz > 0 ? 'high' : 'low'}`
    case 'collision':
      return 'a second signal'
    case 'noise at 9600':
    case 'short preamble':
      return causeName(cause)
  }
}

/** What to look at where it is heard; common practice, no source. */
const atReceiver: Record<Cause['kind'], string> = {
  noise: 'a better antenna or place, or the sender is too far away',
  '2200 Hz low': 'de-emphasised twice? Use the discriminator (9600 baud) output where there is one',
  '2200 Hz high': 'pre-emphasised twice, or an equaliser or noise filter on the way?',
  '4 kHz low':
    '9600 bit/s need the flat port of the radio (discriminator, 9600), not the speaker or its output for 1200',
  '4 kHz high': 'an equaliser or a noise filter on the way, or a sender with pre-emphasis',
  'noise at 9600': 'noise, fading, or two senders at once',
  clipping: 'turn the input down',
  hum: 'a ground loop; use an isolating transformer or one power supply',
  'sub-audible tone': 'the sender’s is too loud; an output behind the voice filter has less of it',
  echo: 'heard by two paths, or the audio is fed back',
  clicks: 'ignition, a switch or a switching supply nearby',
  slip: 'the sound card or the computer did not keep up',
  'off-tune': 'a receiver off its frequency, or a recording at another speed',
  'short preamble': 'the sender’s preamble (TX delay) is too short, or the squelch opens late',
  collision: 'two stations sent at once',
}

/** A cause as it is shown: what is wrong, and what to look at. */
export const causeText = (cause: Cause): string => `${causeName(cause)}: ${atReceiver[cause.kind]}`

/** What to look at, whatever its figures are. */
export const causeAdvice = (kind: Cause['kind']): string => atReceiver[kind]

/** Where nothing was wrong with the signal. */
const clean = 'the signal was clean: sent with a wrong check sequence, or no AX.25 frame'

/** All of a lost frame's causes without figures, one at least. */
export const causeKindNames = (causes: readonly Cause[]): string[] =>
  causes.length === 0 ? ['the signal was clean'] : causes.map(causeKindName)

/** All of a lost frame's causes, one at least. */
export const causeTexts = (causes: readonly Cause[]): string[] =>
  causes.length === 0 ? [clean] : causes.map(causeText)
