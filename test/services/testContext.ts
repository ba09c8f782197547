import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { Question, Service, ServiceContext } from '../../src/services/service.js'

/** A node on an invented hill, on a virtual clock, that has heard nothing yet. */
export function testContext(more: Partial<ServiceContext> = {}): ServiceContext {
  return {
    askerPosition: undefined,
    node: {
      call: 'N0CALL-10',
      position: { latitudeDeg: 45.2, longitudeDeg: -36.8 },
      positionSource: 'config',
      timeSource: 'system',
      utcOffsetMinutes: -120,
      units: 'km',
      heightM: 900,
    },
    clock: virtualClock(Date.UTC(2026, 5, 21, 16)),
    stations: { find: () => undefined, recent: () => [], weather: () => [], signals: () => [] },
    mailbox: {
      leave: () => ({ ok: true, waitingCount: 1, keptMs: 604_800_000 }),
      waitingFor: () => [],
      collect: () => [],
    },
    notices: { recent: () => [], post: () => ({ ok: true, keptMs: 604_800_000 }) },
    // Who asks in tests was told already that its position is not known.
    storage: {
      read: (service) => new Map(service === '(position)' ? [['N0CALL-7', '0']] : []),
      write: () => {},
    },
    effects: { send: () => {}, post: () => {} },
    rehearsal: false,
    services: [],
    ...more,
  }
}

let asked = 0

/** The question as the dispatcher would pass it on, `text` without the keyword. */
export function testQuestion(text: string, from = 'N0CALL-7'): Question {
  const rest = text.trim()
  const words = rest === '' ? [] : rest.split(/\s+/)
  return { id: `q${asked++}`, from, text: rest, rest, words }
}

/** The answer as a list. */
export async function answerOf(
  service: Service,
  text: string,
  context: ServiceContext = testContext(),
): Promise<readonly string[]> {
  const answer = await service.answer(testQuestion(text), context)
  const entries = typeof answer === 'string' ? [answer] : answer
  return entries.map((entry) => (typeof entry === 'string' ? entry : entry.asSent))
}
