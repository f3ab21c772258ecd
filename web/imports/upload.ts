import type { ImportFile } from '../../api/schemas.ts';
import { fetchAnswer } from '../client.ts';

/** As large as the server takes; asked here first, so that nobody waits for a refusal. */
const MAX_MEBIBYTES = 20;

/** Sends a file as it is, and gives back what the server found in it. */
export async function uploadFile(file: File): Promise<ImportFile> {
  if (file.size > MAX_MEBIBYTES * 1024 * 1024) {
    throw new Error(
      `The file is larger than ${MAX_MEBIBYTES} MiB. Split it into parts and import them one by one.`,
    );
  }
  const response = await fetchAnswer('/api/imports', {
    method: 'POST',
    headers: {
      'Content-Type': 'application/octet-stream',
      'File-Name': encodeURIComponent(file.name || 'file.csv'),
    },
    body: file,
  });
  return response.json();
}
