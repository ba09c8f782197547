import { useState } from 'preact/hooks'
import type { Conversation, ConversationDetail, EventView, StateView } from '../../schemas'
import { duration, timeOf } from '../format'
import { useReading, Waiting } from '../read'
import { words } from '../settings'

export function Conversations() {
  const text = words.value
  const { value: threads, why } = useReading<Conversation[]>('conversations?limit=100')
  return (
    <>
      <section aria-labelledby="q-asked">
        <h2 id="q-asked">{text.questions.asked}</h2>
        {threads === undefined && <Waiting why={why} />}
        {threads?.length === 0 && <p class="quiet">{text.thread.none}</p>}
        {threads?.map((thread) => (
          <Thread key={thread.id} thread={thread} isWhole />
        ))}
      </section>
      <NotAnswered />
      <Endings />
    </>
  )
}

/** One question, what came of it, and where it stands. */
export function Thread({
  thread,
  isWhole = false,
}: {
  readonly thread: Conversation
  readonly isWhole?: boolean
}) {
  const text = words.value.thread
  return (
    <article class="thread">
      <p class="mark heard">
        <time>{timeOf(thread.heardWallMs)}</time>{' '}
        <a href={`#/stations/${encodeURIComponent(thread.from)}`}>{thread.from}</a>:{' '}
        <q>{thread.text}</q>
        {thread.state !== 'answered' && (
          <span class="small"> {text.states[thread.state] ?? thread.state}</span>
        )}
        {thread.reason !== undefined && <span class="why"> {thread.reason}</span>}
      </p>
      <ol class="answers">
        {thread.messages.map((message) => (
          <li
            key={message.id}
            class={`mark ${message.state === 'acknowledged' ? 'may' : isWrong(message.state) ? 'wrong' : 'ours'}`}
          >
            <q>{message.text}</q> <span class="small">{fateOf(message)}</span>
          </li>
        ))}
      </ol>
      {isWhole && <Tries id={thread.id} />}
    </article>
  )
}

const isWrong = (state: string): boolean => ['given up', 'rejected', 'expired'].includes(state)

function fateOf({
  state,
  attempts,
  createdWallMs,
  endedWallMs,
  reason,
}: Conversation['messages'][number]): string {
  const text = words.value.thread
  const tries = text.tries(attempts)
  if (state === 'acknowledged' && endedWallMs !== undefined)
    return `${tries}; ${text.received(duration(endedWallMs - createdWallMs))}`
  const end = text.states[state] ?? state
  return reason === undefined ? `${tries}; ${end}` : `${tries}; ${end}: ${reason}`
}

function Tries({ id }: { readonly id: number }) {
  const [isOpen, setOpen] = useState(false)
  return (
    <details onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{words.value.thread.every}</summary>
      {isOpen && <TryList id={id} />}
    </details>
  )
}

function TryList({ id }: { readonly id: number }) {
  const { kinds } = words.value
  const { value, why } = useReading<ConversationDetail>(`conversations/${id}`)
  if (value === undefined) return <Waiting why={why} />
  return (
    <ol class="plain">
      {value.events.map((event) => (
        <li key={event.id}>
          <time>{timeOf(event.atWallMs)}</time> <b>{kinds[event.kind] ?? event.kind}</b>{' '}
          {event.text}
          {event.reason !== undefined && <span class="why"> {event.reason}</span>}
        </li>
      ))}
    </ol>
  )
}

function NotAnswered() {
  const text = words.value.thread
  const { value, why } = useReading<EventView[]>('events?kind=refused,ignored&limit=50')
  return (
    <section aria-labelledby="q-not">
      <h2 id="q-not">{text.notAnswered}</h2>
      {value === undefined && <Waiting why={why} />}
      {value?.length === 0 && <p class="quiet">{text.nothingRefused}</p>}
      <ol class="plain">
        {value?.toReversed().map((event) => (
          <li key={event.id}>
            <time>{timeOf(event.atWallMs)}</time> {event.station}{' '}
            <span class="said">{event.text}</span>
            <span class="why"> {event.reason}</span>
          </li>
        ))}
      </ol>
    </section>
  )
}

/** Of everything since the start, not of questions alone: the most frequent first. */
function Endings() {
  const text = words.value
  const { value } = useReading<StateView>('state')
  if (value === undefined || value.endings.length === 0) return null
  return (
    <section aria-labelledby="q-endings">
      <h2 id="q-endings">{text.budget.endings}</h2>
      <ol class="plain endings">
        {value.endings.map(({ what, reason, count }) => (
          <li key={`${what}: ${reason}`}>
            {count} × <b>{text.kinds[what] ?? text.thread.states[what] ?? what}</b>
            {reason !== '' && <span class="why"> {reason}</span>}
          </li>
        ))}
      </ol>
    </section>
  )
}
