/** Records that a program makes carry the id of its key where those of people carry a person. No person's id begins so. */
const KEY_PREFIX = 'key.';

export const keyIdOf = (shortName: string): string => KEY_PREFIX + shortName;
export const isKeyId = (id: string): boolean => id.startsWith(KEY_PREFIX);
