import { defineConfig } from 'vitest/config'

export default defineConfig({
  test: {
    include: ['test/**/*.test.ts'],
    globalSetup: ['test/compile.ts', 'test/temporaryRoom.ts'],
    setupFiles: ['test/setup.ts'],
    // Simulations and runs of real processes take seconds; none waits on a real clock for its verdict.
    testTimeout: 120_000,
    hookTimeout: 120_000,
    // What a starved machine did not get done is tried once more; a wrong value is wrong at once.
    retry: {
      count: 1,
      condition: /Timeout \d+ms exceeded|timed out in \d+ms|no end within \d+ ms/,
    },
    pool: 'forks',
    // One a core: vitest leaves one idle, which doubles the time on two.
    maxWorkers: '100%',
  },
})
