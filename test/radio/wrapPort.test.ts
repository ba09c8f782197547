import { expect, it } from 'vitest'
import type { RadioPort } from '../../src/radio/radioPort.js'
import { wrapPort } from '../../src/radio/wrapPort.js'

const methods = [
  ...['send', 'withdraw', 'sendTone', 'hold', 'release', 'access', 'setAccess', 'onFrame'],
  ...['onOutcome', 'onEvent', 'state', 'airtime', 'duty', 'watch', 'close'],
] as const

it('a wrapped radio is the radio, but for what is done another way', () => {
  const calls: unknown[][] = []
  const answers = new Map<string, object>(methods.map((name) => [name, {}]))
  const inner = Object.fromEntries(
    methods.map((name) => [
      name,
      (...values: unknown[]) => {
        calls.push([name, ...values])
        return answers.get(name)
      },
    ]),
  )
  const port = { radio: 3, name: 'hill', ...inner } as unknown as RadioPort
  const own = {} as ReturnType<RadioPort['state']>
  const wrapped = wrapPort(port, { state: () => own })
  expect([wrapped.radio, wrapped.name, wrapped.state()]).toEqual([3, 'hill', own])
  expect(wrapped.state()).toBe(own)
  for (const name of methods.filter((one) => one !== 'state')) {
    const [first, second] = [{}, {}]
    const call = wrapped[name] as (...values: unknown[]) => unknown
    expect(call(first, second), name).toBe(answers.get(name))
    const [, ...given] = calls.at(-1)!
    expect(calls.at(-1)![0]).toBe(name)
    expect(given[0] ?? first).toBe(first)
    // those that take two have both
    if (name === 'hold' || name === 'watch') expect(given[1]).toBe(second)
  }
  expect(calls.map(([name]) => name)).toEqual(methods.filter((one) => one !== 'state'))
})
