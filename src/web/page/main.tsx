import { effect, signal } from '@preact/signals'
import { render } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import type { TryState } from '../schemas'
import { ConnectionLine, conditionOf, Emergencies, Well } from './head'
import { keepFocus } from './keepFocus'
import { entries } from './lines'
import { Login } from './login'
import { connection, right, start, state, tryState } from './model'
import { words } from './settings'
import { Log } from './views/log'
import { Mail } from './views/mail'
import { Now } from './views/now'
import { Setup } from './views/setup'
import { Station, Stations } from './views/stations'
import { Conversations } from './views/threads'
import { Try } from './views/try'

const place = signal(location.hash)
addEventListener('hashchange', () => {
  place.value = location.hash
  document.querySelector<HTMLElement>('#content')?.focus()
  scrollTo(0, 0)
})

const viewNames = ['now', 'stations', 'conversations', 'mail', 'log', 'setup', 'try'] as const
type ViewName = (typeof viewNames)[number]

function placeParts(): { readonly view: ViewName; readonly rest: string } {
  const [, name = '', rest = ''] = place.value.split('/')
  const view = viewNames.find((one) => one === name) ?? 'now'
  return { view, rest: decodeURIComponent(rest) }
}

/** The state goes first: it is what somebody looks for in a row of tabs. */
effect(() => {
  const text = words.value
  const view = state.value
  const radio = view?.radios?.[0]
  const said =
    connection.value === 'lost' || radio === undefined
      ? text.titleState.lost
      : text.titleState[conditionOf(radio)]
  document.title = view === undefined ? 'Ridgepost' : `${view.call}: ${said}`
})

function Page() {
  const text = words.value
  const { view, rest } = placeParts()
  const mayRead = right.value !== 'none'
  return (
    <>
      <button
        type="button"
        class="skip"
        onClick={() => document.querySelector<HTMLElement>('#content')?.focus()}
      >
        {text.skip}
      </button>
      <header>
        <h1>{state.value?.call ?? 'Ridgepost'}</h1>
        <ConnectionLine />
        {mayRead && <Emergencies />}
        {mayRead && <Well />}
        {mayRead && <Views current={view} />}
      </header>
      <main id="content" tabIndex={-1}>
        {state.value === undefined ? null : mayRead ? <View view={view} rest={rest} /> : <Login />}
      </main>
      <Announcer />
    </>
  )
}

function Views({ current }: { readonly current: ViewName }) {
  const names = viewNames.filter((name) => name !== 'try' || state.value?.canTry === true)
  return (
    <nav>
      <ul>
        {names.map((name) => (
          <li key={name}>
            <a href={`#/${name}`} aria-current={name === current ? 'page' : undefined}>
              {words.value.views[name]}
            </a>
          </li>
        ))}
      </ul>
    </nav>
  )
}

function View({ view, rest }: { readonly view: ViewName; readonly rest: string }) {
  switch (view) {
    case 'now':
      return <Now />
    case 'stations':
      return rest === '' ? <Stations /> : <Station key={rest} call={rest} />
    case 'conversations':
      return <Conversations />
    case 'mail':
      return <Mail />
    case 'log':
      return <Log />
    case 'setup':
      return <Setup />
    case 'try':
      return <Try />
  }
}

const announceMs = 10_000

/** What came to the hand-held that somebody tries last; nothing of before. */
function createAnswerWatch(): () => string | undefined {
  let seen: unknown
  return () => {
    const last = (tryState.peek() as TryState | undefined)?.shown.at(-1)
    const isNew = last !== undefined && seen !== undefined && last.atWallMs !== seen
    seen = last?.atWallMs ?? 0
    return isNew ? last.text : undefined
  }
}

/** One sentence for who listens, no more often than every ten seconds. */
function Announcer() {
  const [said, setSaid] = useState('')
  useEffect(() => {
    let seen = entries.peek()[0]?.key
    const answer = createAnswerWatch()
    answer()
    const timer = setInterval(() => {
      const all = entries.peek()
      const answered = answer()
      if (answered !== undefined) {
        seen = all[0]?.key
        setSaid(`${state.peek()?.call ?? ''}: ${answered}`)
        return
      }
      const at = all.findIndex(({ key }) => key === seen)
      const fresh = at < 0 ? all.length : at
      const [first] = all
      if (fresh === 0 || first === undefined) return
      seen = first.key
      const kind = words.peek().kinds[first.kind] ?? first.kind
      setSaid(words.peek().announce(`${first.station ?? ''} ${kind}: ${first.text}.`, fresh))
    }, announceMs)
    return () => clearInterval(timer)
  }, [])
  return (
    <p class="unseen" aria-live="polite">
      {said}
    </p>
  )
}

render(<Page />, document.getElementById('page')!)
keepFocus()
void start()
