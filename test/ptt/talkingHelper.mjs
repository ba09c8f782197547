// The helper, in a Node that has something to say of it: a warning, and then far too much.
process.stderr.write('(node:1) Warning: something is deprecated\n\n')
for (let count = 0; count < 100; count++) process.stderr.write(`trace ${count}\n`)
await import('../../dist/src/ptt/deadManHelper.js')
