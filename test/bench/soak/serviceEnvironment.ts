import { readFileSync } from 'node:fs'

/** What a unit of systemd sets in the environment of its program (systemd.exec(5); values without quotes). */
export function serviceEnvironment(unitFile: string): Record<string, string> {
  const settings = readFileSync(unitFile, 'utf8')
    .split('\n')
    .filter((line) => line.startsWith('Environment='))
    .flatMap((line) => line.slice('Environment='.length).trim().split(/\s+/))
  return Object.fromEntries(
    settings.map((setting) => {
      const [name = '', ...value] = setting.split('=')
      return [name, value.join('=')]
    }),
  )
}
