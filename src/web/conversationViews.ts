import { harmlessText } from '../runtime/harmlessText.js'
import type { StoredEvent } from '../store/events.js'
import type { MessageRecord } from '../store/messages.js'
import type { QuestionRecord } from '../store/questions.js'
import { inParts } from './inParts.js'
import type { PageParts } from './parts.js'
import { Refusal } from './refusal.js'
import type { Conversation, ConversationDetail, EventView, Letter, NoticeView } from './schemas.js'

/** Newest first. */
export const conversationViews = (
  { store, clock }: PageParts,
  limit: number,
): Promise<Conversation[]> =>
  inParts(store.questions.recent(limit).reverse(), questionsAtOnce, clock, (question) => [
    conversation(question, store.messages.ofQuestion(question.id)),
  ])

const questionsAtOnce = 100

/** @throws Refusal for a number that no question has */
export function conversationDetail({ store }: PageParts, id: number): ConversationDetail {
  const question = store.reading('a question', undefined, () => store.questions.find(id))
  if (question === undefined) throw new Refusal(404, 'question', `There is no question ${id}.`)
  return {
    ...conversation(question, store.messages.ofQuestion(id)),
    events: store.events.query({ reference: `Q${id}`, limit: 200 }).map(eventView),
  }
}

function conversation(
  { id, from, addressee, text, radio, heardWallMs, state, reason }: QuestionRecord,
  messages: readonly MessageRecord[],
): Conversation {
  return {
    ...{ id, from, addressee, text: harmlessText(text), radio, heardWallMs, state, reason },
    messages: messages.map((message) => ({
      ...{ id: message.id, kind: message.kind, to: message.to, text: harmlessText(message.text) },
      ...{ number: message.number, state: message.state, attempts: message.attempts },
      ...{ createdWallMs: message.createdWallMs, endedWallMs: message.endedWallMs },
      reason: message.reason,
    })),
  }
}

export const eventView = (event: StoredEvent): EventView => ({
  ...event,
  text: harmlessText(event.text),
  reason: event.reason === undefined ? undefined : harmlessText(event.reason),
})

/** Newest first. @param withTexts whether the letters themselves may be read */
export const letterViews = ({ store }: PageParts, limit: number, withTexts: boolean): Letter[] =>
  store
    .reading('the mailbox', [], () => store.mailbox.recent(limit))
    .toReversed()
    .map(({ id, from, to, text, leftWallMs, expiresWallMs, expiryTrusted, state, ...rest }) => ({
      ...{ id, from, to, leftWallMs, state, promptCount: rest.promptCount },
      ...{ promptedWallMs: rest.promptedWallMs, reason: rest.reason },
      text: withTexts ? harmlessText(text) : undefined,
      expiresWallMs: expiryTrusted ? expiresWallMs : undefined,
    }))

export const noticeViews = ({ store, clock }: PageParts, limit: number): NoticeView[] =>
  store
    .reading('the board', [], () => store.notices.current(clock.wallMs(), limit))
    .map(({ id, from, text, postedWallMs, expiresWallMs, expiryTrusted }) => ({
      ...{ id, from, text: harmlessText(text), postedWallMs },
      expiresWallMs: expiryTrusted ? expiresWallMs : undefined,
    }))
