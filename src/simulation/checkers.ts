import type { MailboxEntry } from '../store/mailbox.js'
import type { MessageRecord } from '../store/messages.js'
import type { QuestionRecord } from '../store/questions.js'
import type { Store } from '../store/store.js'
import type { TransmissionRecord } from '../store/transmissions.js'
import type { Scenario } from './scenario.js'

/** What a run came to. */
export interface RunFigures {
  readonly questions: number
  readonly acknowledged: number
  /** every message of the answer came to the asker's screen */
  readonly answered: number
  /** of those, the node knows it of so many: the acknowledgements arrived too */
  readonly confirmed: number
  /** asked and not (wholly) answered, by reason */
  readonly givenUp: Readonly<Record<string, number>>
  readonly mailLeft: number
  readonly mailDelivered: number
  /** of the whole channel, all stations */
  readonly channelMs: number
  readonly nodeMs: number
  readonly channelMsPerAnswered: number
  readonly nodeMsPerAnswered: number
  readonly answerAfterMsMedian: number
}

interface Evidence {
  readonly questions: readonly QuestionRecord[]
  readonly messages: readonly MessageRecord[]
  readonly mailbox: readonly MailboxEntry[]
  readonly transmissions: readonly TransmissionRecord[]
}

/**
 * Looks at both ends of a finished run: what people sent and saw, and what the node's database says.
 * @returns everything that breaks a promise, in words; empty for a good run
 */
export function checkRun(
  scenario: Scenario,
  store: Store,
): { problems: string[]; figures: RunFigures } {
  const limit = 1_000_000
  const evidence: Evidence = {
    questions: store.questions.recent(limit),
    messages: store.messages.query({ limit }),
    mailbox: store.mailbox.recent(limit),
    transmissions: store.transmissions.query({ limit }),
  }
  const problems = [
    ...scenario.faults,
    ...checkQuestions(scenario, evidence),
    ...checkAnswers(scenario, evidence),
    ...checkMessages(scenario, evidence),
    ...checkMail(scenario, evidence),
  ]
  return { problems, figures: figuresOf(scenario, store, evidence) }
}

const keyOf = (from: string, number: string | undefined, text: string): string =>
  `${from} ${number} ${text}`

/** Nothing that was acknowledged is missing, nothing is there twice, nothing is left hanging. */
function checkQuestions({ handHelds }: Scenario, { questions }: Evidence): string[] {
  const problems: string[] = []
  const kept = new Map<string, QuestionRecord>()
  for (const question of questions) {
    const key = keyOf(question.from, question.number, question.text)
    if (kept.has(key)) problems.push(`${key}: kept twice`)
    kept.set(key, question)
    if (question.state === 'accepted') problems.push(`${key}: neither answered nor given up`)
    if (question.state !== 'answered' && question.reason === undefined)
      problems.push(`${key}: ${question.state} without a reason`)
  }
  for (const { call, sent } of handHelds) {
    for (const { number, text, state } of sent) {
      const key = keyOf(call, number, text)
      if (state === 'acknowledged' && !kept.has(key))
        problems.push(`${key}: acknowledged, and missing in the database`)
      if (state === 'sending') problems.push(`${key}: still being sent`)
    }
  }
  return problems
}

const shownKeys = ({ handHelds }: Scenario): Set<string> =>
  new Set(
    handHelds.flatMap((radio) =>
      radio.shown.map(({ number, text }) => keyOf(radio.call, number, text)),
    ),
  )

/** Each part of an answer was shown once at most, left in order, and was shown once when the node says that it was acknowledged. */
function checkAnswers(
  { handHelds, asked }: Scenario,
  { messages, transmissions }: Evidence,
): string[] {
  const problems: string[] = []
  const byCall = new Map(handHelds.map((radio) => [radio.call, radio]))
  const answers = new Map<string, MessageRecord[]>()
  const leftMs = firstSentMs(transmissions)
  for (const message of messages) {
    if (message.kind !== 'answer') continue
    const key = `${message.to} ${/T\d+(?=[ab])/.exec(message.text)?.[0]}`
    answers.set(key, [...(answers.get(key) ?? []), message])
  }
  for (const { from, token } of asked) {
    for (const part of ['a', 'b']) {
      const shown = byCall.get(from)!.shown.filter(({ text }) => text === token + part)
      if (shown.length > 1)
        problems.push(`${from}: ${token}${part} shown ${shown.length} times: answered twice`)
    }
    const records = answers.get(`${from} ${token}`) ?? []
    const [firstMs, secondMs] = ['a', 'b'].map((part) =>
      leftMs.get(records.find(({ text }) => text === token + part)?.id),
    )
    if (firstMs !== undefined && secondMs !== undefined && firstMs > secondMs)
      problems.push(`${from}: the second part of ${token} left before the first`)
    const texts = records.map(({ text }) => text)
    if (new Set(texts).size < texts.length) problems.push(`${from}: ${token} answered twice`)
  }
  return problems
}

/** When each message went out first, by its id. */
function firstSentMs(
  transmissions: readonly TransmissionRecord[],
): Map<number | undefined, number> {
  const sentMs = new Map<number | undefined, number>()
  for (const { reference, outcome, atWallMs } of transmissions) {
    if (outcome !== 'sent' || reference?.startsWith('M') !== true) continue
    const id = Number(reference.slice(1))
    sentMs.set(id, Math.min(atWallMs, sentMs.get(id) ?? atWallMs))
  }
  return sentMs
}

/** What the node takes for acknowledged was shown; what it ended otherwise has a reason; nothing hangs. */
function checkMessages(scenario: Scenario, { messages }: Evidence): string[] {
  const shown = shownKeys(scenario)
  return messages.flatMap((message) => {
    const { to, number, text, state, reason } = message
    const key = keyOf(to, number, text)
    if (state === 'acknowledged' && !shown.has(key)) return `${key}: acknowledged but never shown`
    if (state === 'waiting') return `${key}: neither acknowledged nor given up`
    if ((state === 'given up' || state === 'expired') && !reason) return `${key}: no reason`
    return []
  })
}

/** What was left is delivered once, or still waits, or its sender is told why not. */
function checkMail({ handHelds, left }: Scenario, { mailbox, messages }: Evidence): string[] {
  const problems: string[] = []
  const byToken = new Map(mailbox.map((entry) => [/^T\d+/.exec(entry.text)?.[0], entry]))
  for (const { from, to, token } of left) {
    const radios = handHelds.filter(({ call }) => call === to)
    const shown = radios.flatMap((radio) =>
      radio.shown.filter(({ text }) => text.startsWith(`${from}: ${token} `)),
    )
    const entry = byToken.get(token)
    const name = `mail ${token} from ${from} to ${to}`
    if (shown.length > 1) problems.push(`${name}: shown ${shown.length} times`)
    const sender = handHelds.find(({ call }) => call === from)!
    const leaving = sender.sent.find(({ text }) => text.includes(` ${token} `))
    const told = sender.shown.some(({ text }) => text.startsWith('Not kept'))
    if (entry === undefined) {
      if (leaving?.state === 'acknowledged' && !told && !refused(messages, from))
        problems.push(`${name}: acknowledged, and missing`)
      continue
    }
    if (entry.state === 'delivered' && shown.length === 0)
      problems.push(`${name}: delivered, but never shown`)
    if (entry.state === 'sending') problems.push(`${name}: left half sent`)
    if (entry.state !== 'delivered' && entry.state !== 'waiting' && entry.reason === undefined)
      problems.push(`${name}: ${entry.state} without a reason`)
  }
  return problems
}

/** The sender was answered that something was not kept, whether or not that answer arrived. */
const refused = (messages: readonly MessageRecord[], to: string): boolean =>
  messages.some((message) => message.to === to && /^(Not kept|Too many)/.test(message.text))

function figuresOf(scenario: Scenario, store: Store, evidence: Evidence): RunFigures {
  const { questions, messages, mailbox } = evidence
  const byQuestion = new Map<number, MessageRecord[]>()
  for (const message of messages) {
    if (message.kind !== 'answer' || message.questionId === undefined) continue
    const others = byQuestion.get(message.questionId) ?? []
    byQuestion.set(message.questionId, [...others, message])
  }
  const sent = scenario.handHelds.flatMap((radio) => radio.sent)
  const givenUp: Record<string, number> = {}
  const count = (reason: string): void => {
    givenUp[reason] = (givenUp[reason] ?? 0) + 1
  }
  const shown = shownKeys(scenario)
  let answered = 0
  let confirmed = 0
  for (const question of questions) {
    const answers = byQuestion.get(question.id) ?? []
    const missing = answers.find(({ to, number, text }) => !shown.has(keyOf(to, number, text)))
    if (question.state !== 'answered') count(reasonWords(question.reason ?? question.state))
    else if (missing !== undefined) count(reasonWords(missing.reason ?? missing.state))
    else {
      answered++
      if (answers.every(({ state }) => state === 'acknowledged')) confirmed++
    }
  }
  for (let lost = questions.length; lost < sent.length; lost++) count('never reached the node')
  const nodeMs = store.transmissions
    .query({ limit: 1_000_000 })
    .reduce((sum, { airtimeMs }) => sum + (airtimeMs ?? 0), 0)
  const { keyedMs } = scenario.channel.counters
  return {
    questions: sent.length,
    acknowledged: sent.filter(({ state }) => state === 'acknowledged').length,
    answered,
    confirmed,
    givenUp,
    mailLeft: mailbox.length,
    mailDelivered: mailbox.filter(({ state }) => state === 'delivered').length,
    channelMs: keyedMs,
    nodeMs,
    channelMsPerAnswered: keyedMs / Math.max(1, answered),
    nodeMsPerAnswered: nodeMs / Math.max(1, answered),
    answerAfterMsMedian: median(answerTimes(scenario)),
  }
}

const reasonWords = (reason: string): string => reason.replace(/\d+/g, 'N')

/** From the first transmission of a question to the first part of its answer on the screen. */
function answerTimes({ handHelds, asked }: Scenario): number[] {
  const byCall = new Map(handHelds.map((radio) => [radio.call, radio]))
  return asked.flatMap(({ from, token, number }) => {
    const radio = byCall.get(from)!
    const question = radio.sent.find((message) => message.number === number)
    const shown = radio.shown.find(({ text }) => text === `${token}a`)
    return question && shown ? [shown.atMs - question.startedMs] : []
  })
}

function median(values: number[]): number {
  const sorted = [...values].sort((a, b) => a - b)
  return sorted[Math.floor(sorted.length / 2)] ?? Number.NaN
}
