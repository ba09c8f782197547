import type { Letter, NoticeView } from '../../schemas'
import { timeOf } from '../format'
import { useReading, Waiting } from '../read'
import { words } from '../settings'

export function Mail() {
  const text = words.value.mail
  const letters = useReading<Letter[]>('mailbox?limit=200')
  const notices = useReading<NoticeView[]>('notices?limit=100')
  return (
    <>
      <section aria-labelledby="q-letters">
        <h2 id="q-letters">{text.letters}</h2>
        {letters.value === undefined && <Waiting why={letters.why} />}
        {letters.value?.length === 0 && <p class="quiet">{text.noLetters}</p>}
        <ol class="plain">
          {letters.value?.map((letter) => (
            <li key={letter.id} class={`mark ${mannerOf(letter.state)}`}>
              <strong>{text.fromTo(letter.from, letter.to)}</strong>:{' '}
              {text.states[letter.state] ?? letter.state}, {text.since(timeOf(letter.leftWallMs))}
              {letter.expiresWallMs !== undefined &&
                `, ${text.until(timeOf(letter.expiresWallMs))}`}
              {letter.state === 'waiting' && `, ${text.told(letter.promptCount)}`}.
              {letter.text !== undefined && <q class="letter">{letter.text}</q>}
              {letter.reason !== undefined && <span class="why"> {letter.reason}</span>}
            </li>
          ))}
        </ol>
      </section>
      <section aria-labelledby="q-notices">
        <h2 id="q-notices">{text.notices}</h2>
        {notices.value === undefined && <Waiting why={notices.why} />}
        {notices.value?.length === 0 && <p class="quiet">{text.noNotices}</p>}
        <ol class="plain">
          {notices.value?.map((notice) => (
            <li key={notice.id}>
              <strong>{notice.from}</strong>: <q>{notice.text}</q>{' '}
              {text.since(timeOf(notice.postedWallMs))}
              {notice.expiresWallMs !== undefined &&
                `, ${text.until(timeOf(notice.expiresWallMs))}`}
            </li>
          ))}
        </ol>
      </section>
    </>
  )
}

const mannerOf = (state: string): string =>
  state === 'delivered'
    ? 'may'
    : state === 'waiting'
      ? 'waits'
      : state === 'sending'
        ? 'ours'
        : 'wrong'
