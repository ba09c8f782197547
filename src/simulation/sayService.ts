import type { Service } from '../services/service.js'

/** `say A/B`: answers what was said, a message for each part. Its answers tell the checkers which question they belong to. */
export const sayService: Service = {
  keyword: 'say',
  summary: 'Says it again',
  usage: 'say TEXT',
  takes: 'text',
  answer: (question) => question.rest.split('/'),
}
