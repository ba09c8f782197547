import { useState } from 'preact/hooks'
import { useAction } from './action'
import { change } from './api'
import { right, start, state } from './model'
import { words } from './settings'

/** Logging in and out, as far as there is a password. */
export function Login() {
  const text = words.value.login
  const [password, setPassword] = useState('')
  const { run, problem } = useAction()
  if (right.value === 'control')
    return (
      <p>
        <button
          type="button"
          onClick={() =>
            run(async () => {
              await change('DELETE', 'session')
              await start()
            })
          }
        >
          {text.out}
        </button>
        {problem}
      </p>
    )
  if (state.value?.visitor.canLogIn !== true) return <p class="quiet">{text.none}</p>
  const submit = (event: Event): void => {
    event.preventDefault()
    run(async () => {
      await change('POST', 'session', { password })
      setPassword('')
      await start()
    })
  }
  return (
    <form class="inline" onSubmit={submit}>
      <label>
        {right.value === 'none' ? text.needed : text.forControls}
        <br />
        {text.password}
        <input
          type="password"
          autocomplete="current-password"
          required
          value={password}
          onInput={(event) => setPassword(event.currentTarget.value)}
        />
      </label>
      <button type="submit">{text.button}</button> {problem}
    </form>
  )
}
