import { messageCharactersMax } from './messageText.js'

/*
 * Answers to the queries of ch. 15 that are texts of messages; the others are answered by a
 * position, a status, capabilities, weather, or the messages themselves. None has a number.
 */

/** `Directs= TE7AA TE8BB`: stations heard direct, as many as fit one message (?APRSD). */
export function directsReply(calls: readonly string[]): string {
  let text = 'Directs='
  for (const call of calls) {
    if (text.length + 1 + call.length > messageCharactersMax) break
    text += ` ${call}`
  }
  return text
}

/**
 * `TE9CC HEARD: 1 3 2 . . 4 5 6`: how often a station was heard in each of the last hours (?APRSH).
 * @param hourlyCounts at most 8, the present hour first; 0 goes as a dot
 */
export function heardReply(call: string, hourlyCounts: readonly number[]): string {
  const counts = hourlyCounts.slice(0, 8).map((count) => (count === 0 ? '.' : count))
  return `${call} HEARD: ${counts.join(' ')}`
}

/**
 * `TE5Q>APZ001,DIGI1,WIDE*:`: the way by which the query came (?APRST and ?PING?). The reference
 * prints the call of the station that was asked in front, not the asker's.
 * @param header of the query's frame, such as `TE5Q>APZ001,DIGI1,WIDE*`; a long one is cut to what
 *   a message holds
 */
export function traceReply(header: string): string {
  return `${header.replace(/[|~{]/g, '.').slice(0, messageCharactersMax - 1)}:`
}
