/** What the node says of itself, and of messages that people leave. */
export const node = {
  // What the node says of itself, and of messages that people leave
  noTime: 'Sorry, there was no time on the air to answer. Please ask again.',
  tooSlow: 'Sorry, that takes too long just now. Please ask again later.',
  othersWait: 'Others wait for answers, too. Please ask again in a few minutes.',
  tooMany: 'Too many questions just now. Please try again in {minutes} minutes.',
  oneWaits: '1 message waits for you here. Send: collect',
  manyWait: '{count} messages wait for you here. Send: collect',
  delivered: 'Your message to {call} was delivered: {text}',
  refused: 'Your message to {call} was refused by its radio: {text}',
  expired: 'Your message to {call} was not collected in time: {text}',
  noMessages: 'No messages for you',
  noDirects: 'Directs= none in the last hour',
} as const
