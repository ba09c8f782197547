import { messageCharactersMax } from '../aprs/messageText.js'
import { matchKeyword } from './matchKeyword.js'
import type { Service } from './service.js'

/** `help`: every keyword; `help KEYWORD`: how it is asked and what it does. */
export const helpService: Service = {
  keyword: 'help',
  summary: 'The list of services, or how one of them is asked',
  usage: 'help [KEYWORD]',
  answer(question, context) {
    const wanted = question.words[0]?.toLowerCase()
    if (wanted === undefined) {
      const others = context.services.filter((service) => service.keyword !== 'help')
      // Sent as it is written, the example must give something.
      const example = (others.find(({ keyword }) => keyword === 'repeaters') ?? others[0])?.keyword
      return `Send: ${others.map((service) => service.keyword).join(' ')}. More: help ${example ?? 'KEYWORD'}`
    }
    const found = matchKeyword(wanted, context.services)
    if (found.ok) {
      const { usage, summary } = found.match
      const line = `${usage}: ${summary}`
      return line.length <= messageCharactersMax ? line : [usage, summary]
    }
    if (found.candidates.length > 1)
      return `help which: ${found.candidates.map((service) => service.keyword).join(', ')}?`
    return `No service "${wanted.slice(0, 16)}" here. Send help for the list.`
  },
}
