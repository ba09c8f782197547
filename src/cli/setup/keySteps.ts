import {
  ask,
  bracketed,
  choiceLines,
  chosen,
  deviceLines,
  deviceNamed,
  numberIn,
} from './questions.js'
import { isCard, output } from './radioSteps.js'
import type { Answers, FoundDevice, Step, View } from './session.js'

const keyings = [
  { value: 'rts', text: 'RTS of a serial line, through a transistor or opto-coupler' },
  { value: 'dtr', text: 'DTR of a serial line, the same way' },
  { value: 'gpio', text: 'a line of a GPIO chip (boards), through a transistor' },
  { value: 'hid', text: 'the GPIO pin of a USB audio chip (CM108 family)' },
  { value: 'vox', text: 'the radio keys itself on audio (VOX): a key line is better' },
  { value: 'command', text: 'two programs of yours, one keys and one unkeys' },
  { value: 'none', text: 'not at all: it only receives' },
] as const

const keying: Step = {
  id: 'keying',
  keys: ['keying'],
  reopens: ['key-line', 'output', 'try', 'delay', 'hang'],
  applies: isCard,
  intro: () => ['How the transmitter is keyed:', ...choiceLines(keyings)],
  prompt: ({ answers }) =>
    `A number${bracketed(1 + keyings.findIndex(({ value }) => value === (answers.keying ?? 'none')))}: `,
  take(word, { answers }) {
    const value = word === '' ? (answers.keying ?? 'none') : chosen(word, keyings)
    if (value === undefined) return ask(`Type a number from 1 to ${keyings.length}.`)
    const say =
      value === 'vox'
        ? [
            'With VOX every sound on that card goes on the air, and nothing here can unkey the radio: set its own time-out timer, and take the card from the desktop.',
          ]
        : []
    return { to: 'next', set: { keying: value }, say }
  },
  shown: ({ keying }) => keyings.find(({ value }) => value === keying)?.text,
}

const needsLine = (view: View): boolean =>
  isCard(view) && !['none', 'vox'].includes(view.answers.keying ?? 'none')

function linesOf({ answers, found }: View): readonly FoundDevice[] {
  if (answers.keying === 'gpio') return found.gpioChips
  return answers.keying === 'hid' ? found.hids : found.serialLines
}

/** What is typed for each, in words. */
const lineForms: Readonly<Record<string, string>> = {
  serial: 'Its line, by number or name',
  gpio: 'Its chip, by number or name, and after a blank the number of the line on it',
  hid: 'Its device, by number or name, and after a blank the pin if that is not 3',
  command:
    'What keys, a semicolon, what unkeys, such as /usr/local/bin/key on; /usr/local/bin/key off',
}

const formOf = ({ keying = 'none' }: Answers): string => (keying in lineForms ? keying : 'serial')

const keyLine: Step = {
  id: 'key-line',
  keys: ['keyDevice', 'keyLine', 'activeLow', 'keyCommand', 'unkeyCommand'],
  reopens: ['try', 'delay'],
  applies: needsLine,
  intro: (view) =>
    view.answers.keying === 'command'
      ? []
      : [
          'What was found:',
          ...deviceLines(linesOf(view), 'nothing: plug it in and type "again", or type its name'),
          ...(view.answers.keying === 'gpio'
            ? ['`gpioinfo` names the lines of each chip; the pins of a header have other numbers.']
            : []),
          'Add "low" where the low level keys.',
        ],
  prompt: (view) => `${lineForms[formOf(view.answers)]}${bracketed(shownLine(view.answers))}: `,
  take(word, view) {
    const { answers } = view
    if (word === '' && shownLine(answers) !== undefined) return { to: 'next' }
    if (answers.keying === 'command') return takeCommands(word)
    const words = word.split(/\s+/).filter((one) => one !== '')
    const activeLow = words.at(-1)?.toLowerCase() === 'low'
    if (activeLow) words.pop()
    const device = deviceNamed(words[0] ?? '', linesOf(view))
    if (device === undefined) return ask('No such device: a number of the list, or a name.')
    if (formOf(answers) === 'serial') {
      if (words.length > 1 || !device.startsWith('/'))
        return ask('A number of the list, or a name such as /dev/ttyUSB0.')
      return { to: 'next', set: { keyDevice: device, activeLow } }
    }
    const isGpio = answers.keying === 'gpio'
    const number = numberIn(words[1] ?? (isGpio ? '' : '3'), isGpio ? 0 : 1, isGpio ? 1023 : 4)
    if (number === undefined || !Number.isInteger(number) || words.length > 2)
      return ask(
        isGpio
          ? 'Chip and line, such as: gpiochip0 17'
          : 'Device and pin 1 to 4, such as: /dev/hidraw0 3',
      )
    return { to: 'next', set: { keyDevice: device, keyLine: number, activeLow } }
  },
  shown: shownLine,
}

function takeCommands(word: string) {
  const commands = word.split(';').map((part) => part.split(/\s+/).filter((one) => one !== ''))
  const [keyCommand = [], unkeyCommand = []] = commands
  if (commands.length !== 2 || keyCommand.length === 0 || unkeyCommand.length === 0)
    return ask('Two commands with a semicolon between them; each is started without a shell.')
  return { to: 'next', set: { keyCommand, unkeyCommand } } as const
}

function shownLine({
  keyDevice,
  keyLine,
  activeLow,
  keyCommand,
  unkeyCommand,
}: Answers): string | undefined {
  if (keyCommand !== undefined) return `${keyCommand.join(' ')}; ${unkeyCommand?.join(' ')}`
  if (keyDevice === undefined) return undefined
  return [keyDevice, keyLine, activeLow ? 'low' : undefined]
    .filter((part) => part !== undefined)
    .join(' ')
}

/** How it is keyed. */
export const keySteps: readonly Step[] = [keying, keyLine, output]
