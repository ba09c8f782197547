// Imported by a process that is measured: at its end it says what CPU time it took, and the most memory. The memory is that of its own
// address space: resourceUsage() would give that of the process which started it where that one is larger.
import { readFileSync } from 'node:fs'

process.on('exit', () => {
  const { userCPUTime, systemCPUTime } = process.resourceUsage()
  const [, peakKb] = /VmHWM:\s*(\d+)/.exec(readFileSync('/proc/self/status', 'utf8'))
  console.error('cpu', (userCPUTime + systemCPUTime) / 1e6, 'mb', Number(peakKb) / 1024)
})
