import { defineConfig } from 'vitest/config'

export default defineConfig({
  test: {
    include: ['test/**/*.test.ts'],
    globalSetup: ['test/compile.ts', 'test/temporaryRoom.ts'],
    setupFiles: ['test/setup.ts'],
    // Simulations and runs of real processes take seconds; none waits on a real clock for its verdict.
    testTimeout: 120_000,
    hookTimeout: 120_000,
    pool: 'forks',
    // One a core: vitest leaves one idle, which doubles the time on two.
    maxWorkers: '100%',
  },
})
