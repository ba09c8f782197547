import { expect, it } from 'vitest'
import { testNode } from './testNode.js'

const example = 'echo hello there'

/** The operator sends an example, which its receiver acknowledges. */
async function told() {
  const node = testNode()
  node.node.say({ to: 'N0CALL-7', text: example })
  await node.wait(5)
  const number = /\{(\w+)/.exec(node.sentTexts().join('\n'))?.[1]
  node.ask('N0CALL-7', `ack${number}`)
  await node.wait(60)
  node.sentTexts()
  return node
}

it('who sends an example of the operator back is answered, and acknowledged again', async () => {
  const node = await told()
  node.ask('N0CALL-7', `${example}{1`)
  await node.wait(5)
  const texts = node.sentTexts()
  expect(texts).toContain(':N0CALL-7 :ack1')
  expect(texts).toContainEqual(expect.stringMatching(/^:N0CALL-7 :hello there\{/))
  await node.wait(40)
  node.sentTexts()
  node.ask('N0CALL-7', `${example}{1`)
  await node.wait(5)
  expect(node.sentTexts()).toContain(':N0CALL-7 :ack1')
})

it('the same again as another question within the hour is an echo', async () => {
  const node = await told()
  node.ask('N0CALL-7', `${example}{1`)
  await node.wait(60)
  node.sentTexts()
  node.ask('N0CALL-7', `${example}{2`)
  await node.wait(60)
  expect(node.sentTexts()).not.toContain(':N0CALL-7 :ack2')
})

it('what only quotes it is an echo the first time', async () => {
  const node = await told()
  node.ask('N0CALL-7', `You said: ${example}{1`)
  await node.wait(60)
  expect(node.sentTexts()).toEqual([])
})
