/** The topics of a plant under its prefix. `{person}` and the like are ids, which hold no level separator or wildcard. */
export const topicsOf = (prefix: string) => ({
  /** Measurements in: the last level names the person, so that the broker's own rights say who may send as whom. */
  everySample: `${prefix}/samples/+`,
  /** What was refused, for who sent it. */
  refused: (personId: string) => `${prefix}/refused/${personId}`,
  /** null where it is no topic of a sample. */
  personOf(topic: string): string | null {
    const begin = `${prefix}/samples/`;
    return topic.startsWith(begin) ? topic.slice(begin.length) : null;
  },
});
