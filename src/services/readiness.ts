import type { Readiness, ReadyNow, Service } from './service.js'

/** A service that does not say is ready. */
export const readinessOf = (service: Service, now: ReadyNow): Readiness =>
  service.ready?.(now) ?? { state: 'ready' }

/** Those that can answer: what is offered to people. */
export const readyAmong = (services: readonly Service[], now: ReadyNow): readonly Service[] =>
  services.filter((service) => readinessOf(service, now).state === 'ready')
