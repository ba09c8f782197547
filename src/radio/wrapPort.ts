import type { RadioPort } from './radioPort.js'

/** The same radio, some of it done another way. */
export const wrapPort = (port: RadioPort, change: Partial<RadioPort>): RadioPort => ({
  radio: port.radio,
  name: port.name,
  send: (request) => port.send(request),
  withdraw: (id) => port.withdraw(id),
  sendTone: (request) => port.sendTone(request),
  hold: (source, reason) => port.hold(source, reason),
  release: (source) => port.release(source),
  access: () => port.access(),
  setAccess: (change) => port.setAccess(change),
  onFrame: (listener) => port.onFrame(listener),
  onOutcome: (listener) => port.onOutcome(listener),
  onEvent: (listener) => port.onEvent(listener),
  state: () => port.state(),
  airtime: () => port.airtime(),
  duty: () => port.duty(),
  watch: (wish, listener) => port.watch(wish, listener),
  close: () => port.close(),
  ...change,
})
