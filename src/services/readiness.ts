import type { Readiness, Service, ServiceContext } from './service.js'

type Now = Pick<ServiceContext, 'clock'>

/** A service that does not say is ready. */
export const readinessOf = (service: Service, now: Now): Readiness =>
  service.ready?.(now) ?? { state: 'ready' }

/** Those that can answer: what is offered to people. */
export const readyAmong = (services: readonly Service[], now: Now): readonly Service[] =>
  services.filter((service) => readinessOf(service, now).state === 'ready')
