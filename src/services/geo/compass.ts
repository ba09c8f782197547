/** Which of the sixteen is nearest to a bearing, from 0 for north, eastward; each covers 22.5 degrees, and its lower border belongs to it. */
export function compassPointAt(bearingDeg: number): number {
  const index = Math.floor((bearingDeg + 11.25) / 22.5)
  return ((index % 16) + 16) % 16
}
