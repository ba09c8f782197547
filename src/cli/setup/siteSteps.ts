import { netCycleMinutes } from '../../aprs/path.js'
import { parsePath } from '../../ax25/address.js'
import { bandOf } from '../../regulations/amateurBands.js'
import { callSignProblem } from '../../regulations/callSign.js'
import { rulesCautions } from '../../regulations/cautions.js'
import { pathAdvice, usualFrequencyNear } from '../../regulations/stationAdvice.js'
import { usualFrequencies } from '../../regulations/usualFrequencies.js'
import { wrapped } from '../shared/finding.js'
import { ask, bracketed, numberIn, sayYesOrNo, yesOrNo } from './questions.js'
import { isCard } from './radioSteps.js'
import type { Answers, Step, View } from './session.js'

/** It has what it takes to send; whether it may is another question. */
const canSend = (view: View): boolean => !isCard(view) || (view.answers.keying ?? 'none') !== 'none'

const usualNear = ({ latitudeDeg, longitudeDeg }: Answers) =>
  latitudeDeg === undefined || longitudeDeg === undefined
    ? undefined
    : usualFrequencyNear(latitudeDeg, longitudeDeg)

const frequency: Step = {
  id: 'frequency',
  keys: ['frequencyMHz'],
  applies: canSend,
  intro: ({ answers }) => {
    const usual = usualNear(answers)
    return [
      'Where the radio is tuned, by you: nothing is tuned from here. Your local band plan comes first: ask who runs packet in your area.',
      ...(usual === undefined
        ? [
            `Usual for this mode (common practice, no source): ${usualFrequencies
              .filter(({ where }) => !where.startsWith('satellites'))
              .map(({ frequencyMHz, where }) => `${frequencyMHz} MHz in ${where}`)
              .join(', ')}.`,
          ]
        : [
            `Usual for this mode at your place: ${usual.frequencyMHz} MHz, ${usual.where} (common practice, no source). Many share it: a station with much to answer belongs on another.`,
          ]),
    ]
  },
  prompt: ({ answers }) =>
    `Frequency in MHz${bracketed(answers.frequencyMHz ?? usualNear(answers)?.frequencyMHz)}: `,
  take(word, { answers }) {
    const value =
      word === ''
        ? (answers.frequencyMHz ?? usualNear(answers)?.frequencyMHz)
        : numberIn(word, 0.1, 300_000)
    if (value === undefined) return ask('A frequency in MHz, such as 144.8.')
    const say =
      bandOf(value) === undefined
        ? [`${value} MHz lies in no amateur band that is known here: look at your licence.`]
        : []
    return { to: 'next', set: { frequencyMHz: value }, say }
  },
  shown: ({ frequencyMHz }) => (frequencyMHz === undefined ? undefined : `${frequencyMHz} MHz`),
}

/** A figure for check and exposure. */
function figure(options: {
  readonly id: string
  readonly key: 'powerW' | 'antennaGainDbi' | 'antennaHeightM' | 'antennaSizeM'
  readonly question: string
  readonly unit: string
  readonly min: number
  readonly max: number
  readonly byDefault: number
}): Step {
  const { id, key, question, unit, min, max, byDefault } = options
  return {
    id,
    keys: [key],
    applies: canSend,
    prompt: ({ answers }) => `${question}${bracketed(answers[key] ?? byDefault)}: `,
    take(word, { answers }) {
      const value = word === '' ? (answers[key] ?? byDefault) : numberIn(word, min, max)
      return value === undefined
        ? ask(`A number from ${min} to ${max}, in ${unit}.`)
        : { to: 'next', set: { [key]: value } }
    },
    shown: (answers) => (answers[key] === undefined ? undefined : `${answers[key]} ${unit}`),
  }
}

const figures: readonly Step[] = [
  figure({
    id: 'power',
    key: 'powerW',
    question: "Transmitter's output in watts",
    unit: 'W',
    min: 0,
    max: 2000,
    byDefault: 5,
  }),
  figure({
    id: 'gain',
    key: 'antennaGainDbi',
    question: 'Gain of the antenna in dBi (dBd + 2.15)',
    unit: 'dBi',
    min: -30,
    max: 40,
    byDefault: 2.15,
  }),
  figure({
    id: 'height',
    key: 'antennaHeightM',
    question: 'Height of its middle over the ground where people stand, in metres',
    unit: 'm above people',
    min: 0,
    max: 1000,
    byDefault: 6,
  }),
  figure({
    id: 'size',
    key: 'antennaSizeM',
    question: 'Its length in metres',
    unit: 'm long',
    min: 0,
    max: 100,
    byDefault: 1.5,
  }),
]

const send: Step = {
  id: 'send',
  keys: ['enabled'],
  reopens: ['try', 'delay', 'hang'],
  applies: canSend,
  intro: ({ answers }) => {
    const problem = callSignProblem(answers.call ?? 'N0CALL')
    return problem === undefined
      ? [
          'Before anything is sent:',
          ...rulesCautions.flatMap(({ about, text }) => [`  ${about}`, ...wrapped(text, '    ')]),
          'Sections are those of the United States; local rules and a licensed person come first.',
        ]
      : [`It cannot be switched on: ${problem}. "back", or Enter to go on without.`]
  },
  prompt: ({ answers }) =>
    `May this station send? yes, or no to switch it on later${bracketed(answers.enabled ? 'yes' : 'no')}: `,
  take(word, { answers }) {
    const wanted = yesOrNo(word, answers.enabled ?? false)
    if (wanted === undefined) return sayYesOrNo
    if (wanted && callSignProblem(answers.call ?? 'N0CALL') !== undefined)
      return ask('Not with this call sign.')
    return { to: 'next', set: { enabled: wanted } }
  },
  shown: ({ enabled }) =>
    enabled === undefined ? undefined : enabled ? 'may send' : 'sends nothing yet',
}

const beacon: Step = {
  id: 'beacon',
  keys: ['beaconPath'],
  applies: (view) => view.answers.enabled === true && view.answers.latitudeDeg !== undefined,
  intro: () => [
    'It can tell its position every 30 minutes, so that others find it. Digipeaters that repeat it (common practice, no source):',
    ...pathAdvice.map(({ path, meaning }) => `  ${path.padEnd(15)}  ${meaning}`),
    'Answers go back the way that a question came; this is for the position alone. "skip": no position by itself.',
  ],
  prompt: ({ answers }) =>
    `Path${bracketed(answers.beaconPath === undefined ? 'none' : answers.beaconPath.join(',') || 'none')}: `,
  take(word, { answers }) {
    const text =
      word === ''
        ? (answers.beaconPath?.join(',') ?? '')
        : /^none$/i.test(word)
          ? ''
          : word.toUpperCase()
    const path = text === '' ? [] : text.split(/[\s,]+/).filter((one) => one !== '')
    const parsed = parsePath(path.join())
    if (!parsed.ok || path.length > 2)
      return ask('At most two digipeaters with a comma between, such as WIDE1-1,WIDE2-1, or none.')
    const leastMinutes = netCycleMinutes(parsed.value)
    return leastMinutes > 30
      ? ask(
          `By that path the position may go out only every ${leastMinutes} minutes: take a shorter one.`,
        )
      : { to: 'next', set: { beaconPath: path } }
  },
  shown: ({ beaconPath }) =>
    beaconPath && `position every 30 min, path ${beaconPath.join() || 'none'}`,
}

/** Site and permission, before anything is tried. */
export const siteSteps: readonly Step[] = [frequency, ...figures, send]
export const beaconSteps: readonly Step[] = [beacon]
