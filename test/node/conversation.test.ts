import { describe, expect, it } from 'vitest'
import { testNode } from './testNode.js'

const to = (call: string, text: string) => `:${call.padEnd(9)}:${text}`

describe('a question', () => {
  it('is acknowledged, then answered in order, one message at a time', async () => {
    const { ask, wait, sentTexts } = testNode()
    ask('N0CALL-7', 'echo one/two{12')
    await wait(2)
    expect(sentTexts()).toEqual([to('N0CALL-7', 'ack12'), to('N0CALL-7', 'one{101')])
    ask('N0CALL-7', 'ack101')
    await wait(2)
    expect(sentTexts()).toEqual([to('N0CALL-7', 'two{102')])
    ask('N0CALL-7', 'ack102')
    await wait(600)
    expect(sentTexts()).toEqual([])
  })
})
