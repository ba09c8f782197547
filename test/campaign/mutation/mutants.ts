import type { PromiseName } from '../oracle.js'

/** The program with one promise broken on purpose, which the campaign must find. */
export interface Mutant {
  readonly name: string
  /** any of which the oracle may say */
  readonly breaks: readonly PromiseName[]
  /** from the project's root */
  readonly file: string
  /** stands there once */
  readonly find: string
  readonly replace: string
}

export const mutants: readonly Mutant[] = [
  {
    name: 'no time-out timer',
    breaks: ['never keyed past the time-out timer'],
    file: 'src/radio/airtimeBudget.ts',
    find: 'Math.min(this.options.timeOutMs, this.ledger.longestMs(nowMs) - leftMs)',
    replace: 'this.ledger.longestMs(nowMs) - leftMs',
  },
  {
    name: 'airtime is not counted',
    breaks: ['never keyed beyond the duty limit'],
    file: 'src/radio/transmitController.ts',
    find: 'this.ledger.note({ ...span, fromMs: running.keyAtMs })',
    replace: '',
  },
  {
    name: 'sends over others',
    breaks: ['never keyed while the channel is busy'],
    file: 'src/radio/transmitController.ts',
    find: 'this.persistence.ask(this.nowMs, this.channelBusy, slotted)',
    replace: 'this.persistence.ask(this.nowMs, false, slotted)',
  },
  {
    name: 'sends while held',
    breaks: ['never keyed while it is held or deaf'],
    file: 'src/radio/transmitController.ts',
    find: 'const hold = this.holdReason()',
    replace: 'const hold = undefined as string | undefined',
  },
  {
    name: 'nothing is ever too late',
    breaks: ['never sent past its time', 'each request ends once'],
    file: 'src/radio/transmitQueue.ts',
    find: 'items.filter((item) => item.notAfterMs <= nowMs)',
    replace: 'items.filter((item) => item.notAfterMs <= nowMs - 600_000)',
  },
  {
    name: 'no identification is owed',
    breaks: ['identified within ten minutes, and at the end'],
    file: 'src/radio/transmitController.ts',
    find: 'running.identifies && running.cutBy === undefined',
    replace: 'running.cutBy === undefined',
  },
  {
    name: 'nothing is synced',
    breaks: [
      'what was acknowledged survives',
      'in the database before it is acknowledged',
      'a letter that was taken is kept',
    ],
    file: 'src/store/writer.ts',
    find: 'work.transaction(true, doing, inTransaction)',
    replace: 'work.transaction(false, doing, inTransaction)',
  },
  {
    name: 'each copy is a new question',
    breaks: ['answered once'],
    file: 'src/node/questionKeeping.ts',
    find: 'store.questions.findCopy(from, number, text, windowMs)',
    replace: 'store.questions.findCopy(from, number, text, windowMs * 0)',
  },
  {
    name: 'a part of the node does not stop',
    breaks: ['nothing ends the process'],
    file: 'src/node/node.ts',
    find: "guard.call('stopping', () => member.stop())",
    replace: "guard.call('stopping', member.stop)",
  },
  {
    name: 'open questions are lost at a restart',
    breaks: ['who is acknowledged is answered or refused'],
    file: 'src/node/conversing.ts',
    find: 'resume: answers.resume,',
    replace: 'resume() {},',
  },
  {
    name: 'who called for help is forgotten at a restart',
    breaks: ['one answer to the calls of a station'],
    file: 'src/node/node.ts',
    find: 'members.conversing.emergencies.resume',
    replace: '() => {}',
  },
  {
    name: 'our own call is a way back',
    breaks: ['no unusable way back'],
    file: 'src/node/replyPath.ts',
    find: 'via.slice(0, via.includes(own) ? via.indexOf(own) : via.length)',
    replace: 'via.slice(0, via.length)',
  },
  {
    name: 'acts on two repaired bits',
    breaks: ['a frame with two repaired bits is not acted on'],
    file: 'src/node/attention.ts',
    find: 'const repairedBitsMax = 1',
    replace: 'const repairedBitsMax = 2',
  },
  {
    name: 'a letter has another number each time',
    breaks: ['each letter is carried under one number'],
    file: 'src/node/mailHandingOver.ts',
    find: 'store.mailbox.setSending(entry.id, entry.number ?? parts.newNumber(call), call)',
    replace: 'store.mailbox.setSending(entry.id, parts.newNumber(call), call)',
  },
  {
    name: 'every clock is trusted',
    breaks: ['nothing expires on a clock that is not trusted'],
    file: 'src/runtime/clockTrust.ts',
    find: 'bySource() ?? clock.monotonicMs() - agreedSinceMs >= agreementMs',
    replace: 'bySource() ?? clock.monotonicMs() - agreedSinceMs >= -1',
  },
  {
    name: 'copies are not acknowledged again',
    breaks: ['heard again, acknowledged again'],
    file: 'src/node/conversation.ts',
    find: 'acknowledgements.heardAgain(known, heard, payload, limits.respondTo(known))',
    replace: '',
  },
  {
    name: 'clients leave no record',
    breaks: ['what clients had sent is on record'],
    file: 'src/setup/clientRecord.ts',
    find: "priority: 'client', octets,",
    replace: "priority: 'client', octets: new Uint8Array(),",
  },
  {
    name: 'a hold is not kept',
    breaks: ["the control operator's hold survives"],
    file: 'src/setup/openControl.ts',
    find: 'writeControlFile(file, { ...readControlFile(file), hold: wanted })',
    replace: '',
  },
  {
    name: 'a word is no call for help',
    breaks: ['a call for help is answered at once'],
    file: 'src/node/emergency.ts',
    find: 'words.find((one) => beginsWith(start, comparable(one)))',
    replace: 'words.find((one) => beginsWith(one, start))',
  },
  {
    name: 'every call for help is the first one',
    breaks: ['one answer to the calls of a station'],
    file: 'src/node/emergencyTurns.ts',
    find: 'nowMs() - last.atMs < emergencyWindowMs',
    replace: 'nowMs() - last.atMs < 1_000',
  },
  {
    name: 'a call for help is repeated',
    breaks: ['a call for help is never relayed'],
    file: 'src/node/conversation.ts',
    find: 'return [emergencies.insert(question, help, replyTo(payload))]',
    replace:
      'return [{ ...emergencies.insert(question, help, replyTo(payload)), text: question.text }]',
  },
]
