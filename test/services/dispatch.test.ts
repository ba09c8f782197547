import { describe, expect, it } from 'vitest'
import { dispatch } from '../../src/services/dispatch.js'
import type { Service } from '../../src/services/service.js'
import { testContext } from './testContext.js'

const echo = (keyword: string, more: Partial<Service> = {}): Service => ({
  keyword,
  summary: keyword,
  usage: keyword,
  answer: (question) => `${keyword}:${question.words.join(',')}:${question.rest}`,
  ...more,
})
const services = [
  echo('help'),
  echo('heard'),
  echo('repeaters'),
  echo('post'),
  echo('pass'),
  echo('clock'),
  echo('fails', {
    answer: () => {
      throw new Error('the data is gone')
    },
  }),
  echo('empty', { answer: () => '' }),
  echo('long', { answer: () => Array.from({ length: 30 }, (_, at) => `line ${at}`) }),
  echo('longer', {
    answer: () => Array.from({ length: 30 }, (_, at) => `line ${at}`),
    messagesMax: () => 50,
  }),
]
const context = testContext()
const ask = (text: string) => dispatch({ id: 'q1', from: 'N0CALL-7', text }, { services }, context)

describe('dispatch', () => {
  it('asks the service with the words after the keyword', async () => {
    expect(await ask('Rep 2  70cm')).toEqual({
      messages: ['repeaters:2,70cm:2 70cm'],
      keyword: 'repeaters',
    })
  })
  it('takes an empty question for help', async () => {
    expect((await ask('')).keyword).toBe('help')
  })
  it('says what it did not understand in one message', async () => {
    expect((await ask('zebra now')).messages).toEqual([
      '"zebra" is not known here. Send help, repeaters.',
    ])
    expect((await ask('weather now')).messages).toEqual([
      'There is no conditions here. Send help for what there is.',
    ])
    expect((await ask('he')).messages).toEqual(['he? Send help or heard.'])
    const long = await ask('x'.repeat(67))
    expect(long.messages).toHaveLength(1)
  })
  it('answers politely when a service fails, and keeps the reason for the log', async () => {
    expect(await ask('fails')).toEqual({
      messages: ['Sorry, fails does not work here just now.'],
      keyword: 'fails',
      fault: 'the data is gone',
    })
    expect((await ask('empty')).fault).toBe('the answer was empty')
  })
  it('sends three messages unless the question asked for more, and never more than ten', async () => {
    expect((await ask('long')).messages).toHaveLength(3)
    expect((await ask('longer')).messages).toHaveLength(10)
  })
})
