/** A board on a thin line, which reads only when it is told to. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';

// Node.js cannot make the buffers of a socket small, and usual ones take megabytes before a server notices anything.
// Small segments keep the server's own buffer small as well.
const program = `
  use Socket qw(:all);
  $| = 1;
  socket(my $line, PF_INET, SOCK_STREAM, 0) or die $!;
  setsockopt($line, SOL_SOCKET, SO_RCVBUF, 2048) or die $!;
  setsockopt($line, IPPROTO_TCP, TCP_MAXSEG, 536) or die $!;
  connect($line, sockaddr_in($ARGV[0], inet_aton($ARGV[1]))) or die $!;
  syswrite($line, "GET /api/stream HTTP/1.1\\r\\nHost: $ARGV[1]\\r\\n\\r\\n");
  print sysread($line, my $first, 1) ? "open\\n" : "refused\\n";
  <STDIN>;
  print $first while sysread($line, $first, 65536);
`;

export interface SlowBoard {
  /** Reads what is still to be had, until the connection ends. */
  readToTheEnd(): Promise<string>;
  end(): void;
}

/** Resolves when the stream has begun; null where this machine has no perl to do it with. */
export async function openSlowBoard(address: string): Promise<SlowBoard | null> {
  const { hostname, port } = new URL(address);
  const child = spawn('perl', ['-e', program, port, hostname], { stdio: ['pipe', 'pipe', 'inherit'] });
  let heard = '';
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    heard += text;
  });
  const ended = once(child.stdout, 'close');
  const began = await Promise.race([
    once(child.stdout, 'data').then(() => true),
    once(child, 'error').then(() => false),
    ended.then(() => false),
  ]).catch(() => false);
  if (!began) return null;
  return {
    async readToTheEnd() {
      child.stdin.end('\n');
      await ended;
      return heard;
    },
    end: () => void child.kill('SIGKILL'),
  };
}
