import { parseLocator } from '../../aprs/locator.js'
import { callSignProblem } from '../../regulations/callSign.js'
import { ssidAdvice } from '../../regulations/stationAdvice.js'
import { isTimeZone } from '../../runtime/localTime.js'
import { ask, bracketed, numberIn } from './questions.js'
import type { Step } from './session.js'

const callShape = /^[A-Z0-9]{1,6}(-(1[0-5]|[0-9]))?$/
const always = (): boolean => true

const call: Step = {
  id: 'call',
  keys: ['call'],
  reopens: ['send'],
  applies: always,
  intro: () => [
    'Call sign, with an SSID: the number that tells your stations apart. What is usual (from memory; nothing enforces it):',
    ...ssidAdvice.map(({ ssids, meaning }) => `  ${ssids.padEnd(6)}  ${meaning}`),
  ],
  prompt: ({ answers }) => `Your call sign, such as N0CALL-10${bracketed(answers.call)}: `,
  take(word, { answers }) {
    const value = (word === '' ? (answers.call ?? '') : word).toUpperCase()
    if (!callShape.test(value))
      return ask(
        'A call sign has 1 to 6 letters and digits, then perhaps a hyphen and a number from 0 to 15.',
      )
    const problem = callSignProblem(value)
    return {
      to: 'next',
      set: { call: value },
      say: problem === undefined ? [] : [`${problem}: with it nothing can be sent.`],
    }
  },
  shown: ({ call }) => call,
}

const operator: Step = {
  id: 'operator',
  keys: ['controlOperator'],
  applies: always,
  prompt: ({ answers }) =>
    `Who answers for every transmission (name or call)${bracketed(answers.controlOperator)}: `,
  take(word, { answers }) {
    const value = word === '' ? answers.controlOperator : word
    if (value === undefined) return ask('A name or a call sign; "skip" leaves it for later.')
    return value.length > 60
      ? ask('At most 60 characters.')
      : { to: 'next', set: { controlOperator: value } }
  },
  shown: ({ controlOperator }) => controlOperator,
}

const place: Step = {
  id: 'place',
  keys: ['latitudeDeg', 'longitudeDeg'],
  applies: always,
  intro: () => [
    'Where the antenna is: distances, satellite passes and sun times are calculated from there.',
  ],
  prompt: ({ answers: { latitudeDeg, longitudeDeg } }) =>
    `Latitude and longitude such as 45.2310 -36.7420 (north and east positive), or a locator such as HN15pf${bracketed(latitudeDeg === undefined ? '' : `${latitudeDeg} ${longitudeDeg}`)}: `,
  take(word, { answers }) {
    if (word === '')
      return answers.latitudeDeg === undefined
        ? ask('Two numbers or a locator; "skip" leaves it out.')
        : { to: 'next' }
    const place = placeOf(word)
    return place === undefined
      ? ask(
          'Neither two numbers (-90 to 90, then -180 to 180) nor a locator of 4, 6 or 8 characters.',
        )
      : { to: 'next', set: place }
  },
  shown: ({ latitudeDeg, longitudeDeg }) =>
    latitudeDeg === undefined ? undefined : `${latitudeDeg} ${longitudeDeg}`,
}

/** '45.231 -36.742', '45.231, -36.742', '45.231N 36.742W', or a locator. */
export function placeOf(
  text: string,
): { readonly latitudeDeg: number; readonly longitudeDeg: number } | undefined {
  const cell = text.length < 4 ? undefined : parseLocator(text)
  if (cell !== undefined) {
    const { latitudeDeg, longitudeDeg } = cell.centre
    return { latitudeDeg: rounded(latitudeDeg), longitudeDeg: rounded(longitudeDeg) }
  }
  // A comma parts the two where points are decimal points; else it is the decimal point itself.
  const parts = text
    .replace(/(\d)\s+([NSEW])/gi, '$1$2')
    .split(text.includes('.') ? /[\s,;]+/ : /,?\s+|;/)
    .filter((part) => part !== '')
  if (parts.length !== 2) return undefined
  const latitudeDeg = degrees(parts[0]!, 'N', 'S', 90)
  const longitudeDeg = degrees(parts[1]!, 'E', 'W', 180)
  return latitudeDeg === undefined || longitudeDeg === undefined
    ? undefined
    : { latitudeDeg, longitudeDeg }
}

function degrees(text: string, plus: string, minus: string, max: number): number | undefined {
  const match = /^([-+]?)([\d.,]+)([A-Z]?)$/i.exec(text)
  const letter = match?.[3]?.toUpperCase() ?? ''
  if (match === null || (letter !== '' && (match[1] !== '' || ![plus, minus].includes(letter))))
    return undefined
  const size = numberIn(match[2]!, 0, max)
  if (size === undefined) return undefined
  return (match[1] === '-' || letter === minus ? -1 : 1) * size + 0
}

/** About 10 m. */
const rounded = (deg: number): number => Math.round(deg * 10_000) / 10_000 + 0

const zone: Step = {
  id: 'zone',
  keys: ['timeZone'],
  applies: always,
  prompt: ({ answers, around }) =>
    `Time zone of local times in answers, such as Europe/Lisbon${bracketed(answers.timeZone ?? around.timeZone)}: `,
  take(word, { answers, around }) {
    const value = word === '' ? (answers.timeZone ?? around.timeZone) : word
    return isTimeZone(value)
      ? { to: 'next', set: { timeZone: value } }
      : ask(`No zone of this name is known here; "skip" writes times in UTC.`)
  },
  shown: ({ timeZone }) => timeZone,
}

/** Who and where. */
export const stationSteps: readonly Step[] = [call, operator, place, zone]
