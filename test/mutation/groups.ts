/** Files, and the tests that are to hold them. */
export interface Group {
  readonly files: readonly string[]
  /** those that are quick: each runs for every change that it reaches */
  readonly tests: readonly string[]
}

export const groups: Readonly<Record<string, Group>> = {
  attention: {
    files: ['src/node/attention.ts', 'src/node/copies.ts', 'src/node/rateLimit.ts'],
    tests: [
      ...['test/limits/node.test.ts', 'test/node/conversation.test.ts', 'test/node/parts.test.ts'],
      ...['test/node/queries.test.ts', 'test/node/emergencies.test.ts'],
    ],
  },
  outbox: {
    files: ['src/node/outbox.ts', 'src/node/turns.ts', 'src/node/retry.ts'],
    tests: [
      ...['test/limits/node.test.ts', 'test/node/conversation.test.ts', 'test/node/mail.test.ts'],
      ...['test/node/turns.test.ts', 'test/node/parts.test.ts'],
    ],
  },
  mail: {
    files: [
      ...['src/node/mailRules.ts', 'src/node/mailLeaving.ts', 'src/node/mailHandingOver.ts'],
      ...['src/node/mailEnding.ts', 'src/node/expiry.ts'],
    ],
    tests: [
      ...['test/limits/node.test.ts', 'test/node/mail.test.ts', 'test/node/mailExpiry.test.ts'],
      'test/node/clockJumps.test.ts',
    ],
  },
  controller: {
    files: ['src/radio/transmitController.ts', 'src/radio/runningTransmission.ts'],
    tests: [
      ...['test/limits/radio.test.ts', 'test/radio/transmitController.test.ts'],
      ...['test/radio/hang.test.ts', 'test/radio/airtime.test.ts'],
    ],
  },
  duty: {
    files: [
      ...['src/radio/dutyLedger.ts', 'src/radio/identification.ts', 'src/radio/persistence.ts'],
      'src/radio/transmitQueue.ts',
    ],
    tests: [
      ...['test/limits/radio.test.ts', 'test/radio/transmitController.test.ts'],
      ...['test/published/channelAccess.test.ts', 'test/published/identification.test.ts'],
    ],
  },
  retention: {
    files: ['src/store/retention.ts'],
    tests: ['test/limits/store.test.ts', 'test/store/retention.test.ts'],
  },
  exposure: {
    files: ['src/exposure/*.ts'],
    tests: ['test/exposure/*.test.ts', 'test/published/exposure.test.ts'],
  },
  frames: {
    files: ['dsp/framing/*.ts', 'dsp/modem/frameMerger.ts'],
    tests: [
      ...['test/limits/codecs.test.ts', 'test/dsp/framing/*.test.ts'],
      ...['test/dsp/modem/frameMerger.test.ts', 'test/published/fcs.test.ts'],
    ],
  },
}

/** Whole folders have some ten thousand places, of which a sample is tried, by all tests that are about them and take no real time. */
export const folders: Readonly<Record<string, readonly string[]>> = {
  'dsp/modem': [
    ...['test/dsp/modem/**/*.test.ts', 'test/dsp/framing/*.test.ts', 'test/limits/codecs.test.ts'],
  ],
  'src/radio': [
    ...['test/radio/!(liveRadio).test.ts', 'test/limits/radio.test.ts', 'test/property/*.test.ts'],
    ...['test/published/channelAccess.test.ts', 'test/published/identification.test.ts'],
  ],
  'src/node': [
    ...['test/node/**/*.test.ts', 'test/limits/node.test.ts', 'test/limits/connected.test.ts'],
    ...['test/limits/services.test.ts', 'test/published/digipeating.test.ts'],
    'test/links/*.test.ts',
  ],
  'src/store': [
    ...['test/store/*.test.ts', 'test/limits/store.test.ts', 'test/cli/log.test.ts'],
    ...['test/node/mail.test.ts', 'test/node/badRows.test.ts', 'test/node/conversation.test.ts'],
  ],
  'src/exposure': ['test/exposure/*.test.ts', 'test/published/exposure.test.ts'],
}
