/** The part of a stream's name that tells it from the other streams of its characteristic: lane, roll set, head. */
export function laneName(streamName: string, characteristicName: string): string {
  if (!streamName.toLowerCase().startsWith(characteristicName.toLowerCase())) return streamName;
  return streamName.slice(characteristicName.length).replace(/^[\s,;:·–-]+/, '');
}
