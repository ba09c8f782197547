import type { AlsaDevice } from '../../audio/alsaDevices.js'
import { parseAudioSpec } from '../../audio/audioSpec.js'
import { configText } from './configText.js'
import {
  ask,
  bracketed,
  choiceLines,
  chosen,
  deviceLines,
  deviceNamed,
  numberIn,
  sayYesOrNo,
  yesOrNo,
} from './questions.js'
import type { Answers, Step, View } from './session.js'

const joinings = [
  { value: 'card', text: 'a sound card (a USB interface is one)' },
  { value: 'serial-modem', text: 'an external KISS modem on a serial line' },
  { value: 'tcp-modem', text: 'an external KISS modem on TCP' },
] as const

export const isCard = ({ answers }: View): boolean =>
  answers.joined === undefined || answers.joined === 'card'

const radio: Step = {
  id: 'radio',
  keys: ['joined'],
  reopens: ['input', 'modem', 'hear', 'keying', 'key-line', 'output', 'try', 'delay', 'hang'],
  applies: () => true,
  intro: () => ['How the radio is joined to this machine:', ...choiceLines(joinings)],
  prompt: ({ answers }) =>
    `A number${bracketed(1 + joinings.findIndex(({ value }) => value === (answers.joined ?? 'card')))}: `,
  take(word, { answers }) {
    const value = word === '' ? (answers.joined ?? 'card') : chosen(word, joinings)
    return value === undefined ? ask('Type 1, 2 or 3.') : { to: 'next', set: { joined: value } }
  },
  shown: ({ joined }) => joinings.find(({ value }) => value === joined)?.text,
}

const cardLines = (devices: readonly AlsaDevice[]): string[] =>
  devices.length === 0
    ? ['  no sound card was found: plug it in and type "again"']
    : choiceLines(
        devices.map(({ spec, description }) => ({ value: spec, text: `${spec}  ${description}` })),
      )

const cardNamed = (word: string, devices: readonly AlsaDevice[]): string | undefined =>
  deviceNamed(
    word,
    devices.map(({ spec }) => ({ device: spec })),
  )

const otherForms =
  'a number of the list, a device of ALSA such as alsa:plughw:1,0, or wav:FILE, unix:PATH, tcp:HOST:PORT, fifo:PATH'

function specProblem(spec: string): string | undefined {
  if (!/^((wav|alsa|unix|fifo):.+|tcp:.+:\d{1,5})$/s.test(spec))
    return `"${spec}" is no audio: type ${otherForms}.`
  try {
    parseAudioSpec(spec)
    return undefined
  } catch (error) {
    return (error as Error).message
  }
}

const input: Step = {
  id: 'input',
  keys: ['input'],
  reopens: ['hear'],
  applies: isCard,
  intro: ({ found }) => [
    'Where the audio of the receiver comes in:',
    ...cardLines(found.inputs),
    `Type ${otherForms}.`,
    ...found.problems,
  ],
  prompt: ({ answers, found }) =>
    `Input${bracketed(answers.input ?? (found.inputs.length > 0 ? 1 : ''))}: `,
  take(word, { answers, found }) {
    const value =
      word === '' && answers.input !== undefined ? answers.input : cardNamed(word, found.inputs)
    if (value === undefined) return ask('No such number. "skip" takes the default device of ALSA.')
    const problem = specProblem(value)
    return problem === undefined ? { to: 'next', set: { input: value } } : ask(problem)
  },
  shown: ({ input }) => input,
}

export const output: Step = {
  id: 'output',
  keys: ['output'],
  reopens: ['try', 'delay', 'hang'],
  applies: (view) => isCard(view) && (view.answers.keying ?? 'none') !== 'none',
  intro: ({ found }) => [
    'Where the audio of the transmitter goes out:',
    ...cardLines(found.outputs),
    `Type ${otherForms}.`,
  ],
  prompt: (view) => `Output${bracketed(outputByDefault(view))}: `,
  take(word, view) {
    const value = word === '' ? outputByDefault(view) : cardNamed(word, view.found.outputs)
    if (value === undefined) return ask('No such number.')
    const problem = specProblem(value)
    return problem === undefined ? { to: 'next', set: { output: value } } : ask(problem)
  },
  shown: ({ output }) => output,
}

/** The card that is heard with, where it has an output. */
function outputByDefault({ answers, found }: View): string | undefined {
  if (answers.output !== undefined) return answers.output
  const same = found.outputs.find(({ spec }) => spec === answers.input)
  return (same ?? found.outputs[0])?.spec
}

const bitRates = [1200, 2400, 4800, 9600, 19_200, 38_400, 57_600, 115_200]

const modem: Step = {
  id: 'modem',
  keys: ['modemDevice', 'modemBitRate', 'modemHost', 'modemPort'],
  reopens: ['hear', 'try'],
  applies: (view) => !isCard(view),
  intro: ({ answers, found }) =>
    answers.joined === 'tcp-modem'
      ? ['The modem is set to KISS first, as its manual says.']
      : [
          'The modem is set to KISS first, as its manual says. The serial lines of this machine:',
          ...deviceLines(
            found.serialLines,
            'none was found: plug it in and type "again", or type its name',
          ),
        ],
  prompt: ({ answers, found }) =>
    answers.joined === 'tcp-modem'
      ? `Machine and port, such as modem.example:18701${bracketed(answers.modemHost && `${answers.modemHost}:${answers.modemPort}`)}: `
      : `Its line, by number or name, and after a blank its speed if that is not 9600${bracketed(modemByDefault(answers, found.serialLines.length > 0))}: `,
  take(word, { answers, found }) {
    if (word === '' && (answers.modemHost ?? answers.modemDevice) !== undefined)
      return { to: 'next' }
    if (answers.joined === 'tcp-modem') {
      const match = /^(.+):(\d{1,5})$/.exec(word)
      const port = numberIn(match?.[2] ?? '', 1, 65_535)
      if (match === null || port === undefined)
        return ask('A name or an address, a colon, and a port from 1 to 65535.')
      return { to: 'next', set: { modemHost: match[1]!, modemPort: port } }
    }
    const [name = '', speed = '9600'] = word.split(/\s+/)
    const device = deviceNamed(name, found.serialLines)
    if (device === undefined || !device.startsWith('/'))
      return ask('A number of the list, or a name such as /dev/ttyUSB0.')
    if (!bitRates.includes(Number(speed))) return ask(`A speed is one of ${bitRates.join(', ')}.`)
    return { to: 'next', set: { modemDevice: device, modemBitRate: Number(speed) } }
  },
  shown: ({ modemDevice, modemBitRate, modemHost, modemPort }) =>
    modemHost !== undefined
      ? `${modemHost}:${modemPort}`
      : modemDevice && `${modemDevice} at ${modemBitRate} bit/s`,
}

const modemByDefault = ({ modemDevice, modemBitRate }: Answers, isThere: boolean): string =>
  modemDevice !== undefined ? `${modemDevice} ${modemBitRate}` : isThere ? '1' : ''

const hearSeconds = 60

const hear: Step = {
  id: 'hear',
  keys: [],
  applies: () => true,
  intro: (view) => [
    isCard(view)
      ? `To hear a packet: open the squelch, tune to a channel with packets, turn the volume to a third. This listens for at most ${hearSeconds} s.`
      : `To hear a packet: tune the modem's radio to a channel with packets. This listens for at most ${hearSeconds} s.`,
  ],
  prompt: ({ memo }) => (memo.tried ? 'Listen again? [no]: ' : 'Listen now? [yes]: '),
  take(word, view) {
    const wanted = word === 'again' ? true : yesOrNo(word, view.memo.tried !== true)
    if (wanted === undefined) return sayYesOrNo
    if (!wanted) return { to: 'next' }
    return {
      to: 'effect',
      say: ['Listening.'],
      effect: {
        kind: 'hear',
        configText: configText(view.answers, view.around, { enabled: false }),
        seconds: hearSeconds,
      },
    }
  },
  done: (result) => ({
    to: 'ask',
    memo: { tried: true, worked: result.ok },
    say: result.ok
      ? ['It hears.']
      : [
          'README, "When something is wrong", says what to look at; it can be tried later with `ridgepost levels`.',
        ],
  }),
}

/** How it hears. */
export const radioSteps: readonly Step[] = [radio, input, modem, hear]
