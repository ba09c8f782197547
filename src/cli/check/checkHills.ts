import type { Config } from '../../config/schema.js'
import { isBy } from '../../node/hills/hillParts.js'
import { hillOptions } from '../../setup/hillOptions.js'
import { type Finding, look, mend } from '../shared/finding.js'

/** What is exchanged with which nodes, and what it may cost. */
export function hillLines(config: Config): [string, string][] {
  const { hills } = config
  const { own, radio, neighbours } = hillOptions(config)
  const name = config.radios[radio]?.name ?? `radio ${radio}`
  const isOnAir = neighbours.some((one) => isBy(one, 'radio'))
  return [
    ['as', isOnAir ? `${own}, on ${name}; announced each ${hills.announceMinutes} minutes` : own],
    ...neighbours.map(({ call, secret, takes, gives, by = [] }): [string, string] => [
      call,
      `by ${by.join(' or ')}; takes ${listed(takes)}; gives ${listed(gives)}; ${secret === undefined ? 'not sealed: whoever uses its call is believed' : 'each line is sealed'}`,
    ]),
    [
      'costs',
      isOnAir
        ? `at most ${hills.dutyPercent} % of any hour, ${Math.round(36 * hills.dutyPercent)} s of the key line, within the duty limit of the radio; some ${Math.round((36 * hills.dutyPercent * 0.75) / 5)} short messages an hour`
        : 'nothing on the air: all are reached by the broker',
    ],
  ]
}

const listed = (kinds: readonly string[]): string => kinds.join(', ') || 'nothing'

/** What the licensee has to see to. */
export function hillFindings(config: Config): Finding[] {
  const { hills, connected } = config
  if (!hills.enabled) return []
  const { own, neighbours } = hillOptions(config)
  const findings: Finding[] = []
  if (neighbours.some((one) => isBy(one, 'radio')) || neighbours.length === 0) {
    if (!connected.enabled)
      findings.push(
        mend('hills.enabled', 'entries go over connected mode: set connected.enabled = true'),
      )
    if (config.radios[hills.radio] === undefined)
      findings.push(mend('hills.radio', `there is no radio ${hills.radio}`))
    else if (connected.radios !== undefined && !connected.radios.includes(hills.radio))
      findings.push(mend('hills.radio', `connected.radios leaves out radio ${hills.radio}`))
  }
  if (neighbours.length === 0)
    findings.push(mend('hills.neighbour', 'no other node is named: nothing is exchanged'))
  for (const { call, secret } of neighbours) {
    if (call === own) findings.push(mend('hills.neighbour', `${call} is this node itself`))
    else if (secret === undefined)
      findings.push(
        look(
          'hills.neighbour',
          `${call} has no secret: whoever uses its call can hand over entries, and end them. Where your rules allow authentication in the clear, set one`,
        ),
      )
  }
  findings.push(
    look(
      'hills',
      'it sends on by itself what others wrote. Who forwards answers for what he forwards; the first who does identifies the sender, or answers for the message (47 CFR 97.219); nothing enciphered, no business (97.113); for people without a licence only what the rules on third parties allow (97.115). Elsewhere your local rules hold: look them up first',
    ),
  )
  if (hills.senders.length > 0)
    findings.push(
      look(
        'hills.senders',
        `messages of ${hills.senders.join(', ')} go on the air though they have no call sign: you allow each of them`,
      ),
    )
  return findings
}
