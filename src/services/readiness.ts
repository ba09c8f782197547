import type { Readiness, ReadyNow, Service, ServiceContext } from './service.js'
import { wordingOf } from './wordingOf.js'

/** A service that does not say is ready. */
export const readinessOf = (service: Service, now: ReadyNow): Readiness =>
  service.ready?.(now) ?? { state: 'ready' }

/** Those that can answer: what is offered to people. */
export const readyAmong = (services: readonly Service[], now: ReadyNow): readonly Service[] =>
  services.filter((service) => readinessOf(service, now).state === 'ready')

/** The others, and why. */
export const notReadyAmong = (
  services: readonly Service[],
  now: ReadyNow,
): readonly { readonly keyword: string; readonly reason: string }[] =>
  services.flatMap((service) => {
    const readiness = readinessOf(service, now)
    return readiness.state === 'ready'
      ? []
      : [{ keyword: service.keyword, reason: readiness.reason }]
  })

/** What an asker is told of a service that is not ready; undefined for one that is. */
export function cannotAnswer(service: Service, context: ServiceContext): string | undefined {
  const readiness = readinessOf(service, context)
  if (readiness.state === 'ready') return undefined
  const wording = wordingOf(context)
  const { text, reason } = readiness
  return wording.say('cannotAnswer', {
    ...{ keyword: service.keyword, reason: text === undefined ? reason : wording.say(text) },
  })
}
