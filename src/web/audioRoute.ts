import { streamAudio } from './audioStream.js'
import { Refusal } from './refusal.js'
import { type Route, route } from './route.js'

const listenersMax = 4

/**
 * What a radio hears, for the ear, without an end.
 * @param withTry in the demonstration there is nothing but simulated noise to hear: whoever may read may listen
 */
export function audioRoute(withTry: boolean): Route {
  let listenerCount = 0
  return route({
    ...{ method: 'GET', path: '/api/v1/radios/{radio}/audio.wav', type: 'audio/wav' },
    ...{ right: withTry ? 'public' : 'control' },
    summary: 'what a radio hears, 12 kHz, without an end; four may listen',
    handle({ parts, at }) {
      const port = parts.ports.find(({ radio }) => String(radio) === at.radio)
      if (port === undefined) throw new Refusal(404, 'radio', `There is no radio ${at.radio}.`)
      if (listenerCount >= listenersMax)
        throw new Refusal(503, 'listeners', `${listenersMax} listen already.`)
      return {
        type: 'audio/wav',
        stream(response) {
          listenerCount++
          response.once('close', () => listenerCount--)
          streamAudio(port, response, parts.clock)
        },
      }
    },
  })
}
