/**
 * Puts a value into a map as its newest, also where the key was in it before. Beyond `sizeMax` the oldest is forgotten, so
 * that strangers' names never fill the memory.
 */
export function setNewest<Key, Value>(
  map: Map<Key, Value>,
  key: Key,
  value: Value,
  sizeMax: number,
): void {
  map.delete(key)
  map.set(key, value)
  for (const oldest of map.keys()) {
    if (map.size <= sizeMax) break
    map.delete(oldest)
  }
}
