import type { AirTexts } from './texts.js'

export const english: AirTexts = {
  hello: (call, heard) => `Hello ${call}${heard}. What I know: send help`,
  thanks: (call, heard) => `You are welcome, ${call}${heard}. 73`,
  cancelled: 'Cancelled: nothing more is sent to you. To ask again: help',
  heardDirect: ', heard direct',
  heardDirectWith: (ebN0Db) => `, heard direct, Eb/N0 ${ebN0Db} dB`,
  heardVia: (call) => `, heard via ${call}`,
  absent: (keyword) => `There is no ${keyword} here. Send help for what there is.`,
  offer: (word, what) => `${word}? Send ${what}.`,
  or: 'or',
  notKnown: (word, examples) =>
    `"${word}" is not known here.${examples === '' ? '' : ` Send ${examples}.`}`,
  failed: (keyword) => `Sorry, ${keyword} does not work here just now.`,
  next: (keyword) => `Next: ${keyword}`,
  sendPosition: 'Your position is not known here: send one.',
  askElsewhere: (call, age) => `Ask ${call}, heard ${age} ago.`,
}
