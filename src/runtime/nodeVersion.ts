/**
 * What to say when Node is too old to run this.
 * @param found such as '18.20.4'
 * @param wanted the range of package.json's `engines.node`, such as '>=20'
 * @returns undefined when it is new enough
 */
export function oldNodeMessage(found: string, wanted: string): string | undefined {
  const major = /\d+/.exec(wanted)?.[0]
  if (major === undefined || Number(found.split('.')[0]) >= Number(major)) return undefined
  return `Node ${found} is too old: Ridgepost needs Node ${major} or later. Install Debian's package nodejs (Debian 13 or later), or the Node of nodejs.org, and run this again.`
}
