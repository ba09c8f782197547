import { useEffect, useRef, useState } from 'preact/hooks'
import { timeOf } from '../format'
import { Login } from '../login'
import { right, state } from '../model'
import { playStream } from '../playStream'
import { useReading, Waiting } from '../read'
import { type Language, type Look, language, languages, look, looks, words } from '../settings'
import { LevelLine } from './now'

export function Setup() {
  const text = words.value.setup
  const view = state.value
  return (
    <>
      <section aria-labelledby="q-look">
        <h2 id="q-look">{text.look}</h2>
        <label>
          {text.colours}{' '}
          <select
            value={look.value}
            onChange={(event) => {
              look.value = event.currentTarget.value as Look
            }}
          >
            {looks.map((one) => (
              <option key={one} value={one}>
                {text[one]}
              </option>
            ))}
          </select>
        </label>
        <label>
          {text.language}{' '}
          <select
            value={language.value}
            onChange={(event) => {
              language.value = event.currentTarget.value as Language
            }}
          >
            {Object.entries(languages).map(([key, name]) => (
              <option key={key} value={key} lang={key}>
                {name}
              </option>
            ))}
          </select>
        </label>
      </section>
      <section aria-labelledby="q-access">
        <h2 id="q-access">{text.access}</h2>
        <p>{text.rights[right.value]}</p>
        <Login />
      </section>
      <section aria-labelledby="q-devices">
        <h2 id="q-devices">{text.devices}</h2>
        {view?.radios.map((radio) => (
          <p key={radio.radio} class={`mark ${radio.receiving ? 'may' : 'wrong'}`}>
            <strong>{radio.name}</strong>: {radio.receiving ? text.flows : text.noFlow}.{' '}
            {radio.doubt}
          </p>
        ))}
        {view?.notOffered?.map(({ keyword, reason }) => (
          <p key={keyword}>
            {text.notOffered} <code>{keyword}</code>: {reason}.
          </p>
        ))}
        {view !== undefined && <p>{text.version(view.version, timeOf(view.startedWallMs))}</p>}
      </section>
      <section aria-labelledby="q-levels">
        <h2 id="q-levels">{text.levels}</h2>
        {view?.radios.map((radio) => (
          <div key={radio.radio}>
            <LevelLine radio={radio} />
            <Listen radio={radio.radio} />
          </div>
        ))}
        <p class="quiet">{text.levelsAdvice}</p>
      </section>
      {right.value === 'public' ? <p class="quiet">{text.configNeeds}</p> : <Configuration />}
    </>
  )
}

export function Listen({ radio, label }: { readonly radio: number; readonly label?: string }) {
  const text = words.value.setup
  const [isOn, setOn] = useState(false)
  const [why, setWhy] = useState<string | undefined>(undefined)
  if (right.value !== 'control' && state.value?.canTry !== true)
    return <p class="quiet">{text.listenNeeds}</p>
  return (
    <p>
      <button
        type="button"
        aria-pressed={isOn}
        onClick={() => {
          setOn(!isOn)
          setWhy(undefined)
        }}
      >
        {isOn ? text.stopListening : (label ?? text.listen)}
      </button>
      {isOn && (
        <Sound
          radio={radio}
          onEnd={(error) => {
            setOn(false)
            setWhy(error instanceof Error ? error.message : String(error))
          }}
        />
      )}
      {why !== undefined && (
        <span class="mark wrong" role="alert">
          {words.value.failed(why)}
        </span>
      )}
    </p>
  )
}

function Sound({
  radio,
  onEnd,
}: {
  readonly radio: number
  readonly onEnd: (error: unknown) => void
}) {
  const element = useRef<HTMLAudioElement>(null)
  useEffect(() => playStream(`/api/v1/radios/${radio}/audio.wav`, element.current!, onEnd), [radio])
  // biome-ignore lint/a11y/useMediaCaption: it is noise and tones; the strip has in words what they say
  return <audio ref={element} controls />
}

function Configuration() {
  const text = words.value.setup
  const { value, why } = useReading<Readonly<Record<string, unknown>>>('config')
  return (
    <section aria-labelledby="q-config">
      <h2 id="q-config">{text.config}</h2>
      <p class="quiet">{text.restart}</p>
      {value === undefined && <Waiting why={why} />}
      {value !== undefined && (
        <div class="tables">
          {Object.entries(value).map(([name, table]) => (
            <details key={name}>
              <summary>{name}</summary>
              <Table value={table} />
            </details>
          ))}
        </div>
      )}
    </section>
  )
}

function Table({ value }: { readonly value: unknown }) {
  if (typeof value !== 'object' || value === null) return <code>{JSON.stringify(value)}</code>
  return (
    <dl class="config">
      {Object.entries(value).map(([key, inner]) => (
        <div key={key}>
          <dt>{key}</dt>
          <dd>
            <Table value={inner} />
          </dd>
        </div>
      ))}
    </dl>
  )
}
