import type { FunctionComponent } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { formatDateTime } from '../format.ts';
import { connected, demoPlant, onChange, readServerClock, tickingNow } from '../live.ts';
import { WaitingSamples } from '../offline/WaitingSamples.tsx';
import { watchPermissions } from '../permissions.ts';
import { loadPlant, plantModel, utcOffsetMinutes } from '../plant.ts';
import { askingWho, mayRead, session, signInIsOn } from '../session.ts';
import { loadSession, watchSession } from '../sign-in/load-session.ts';
import { WhoIsHere } from '../sign-in/WhoIsHere.tsx';
import { Notice } from './Notice.tsx';
import { PersonPicker } from './PersonPicker.tsx';
import { currentWorkplace as current, home, signIn, workplaces } from './workplaces.ts';

/** The frame of every page: where am I, who am I, what time is it in the plant, does the server answer? */
export function Shell() {
  const [Page, setPage] = useState<FunctionComponent | null>(null);
  const [failed, setFailed] = useState<string | null>(null);

  const readable = mayRead.value;
  useEffect(() => {
    document.title = current === home ? 'Runtrue' : `${current.name} – Runtrue`;
    loadSession().catch((error: Error) => setFailed(error.message));
    watchSession();
    watchPermissions();
  }, []);
  useEffect(() => {
    if (session.value === null) return;
    const loads = readable
      ? Promise.all([current.load(), loadPlant(), readServerClock()])
      : Promise.all([signIn.load(), readServerClock()]);
    loads.then(
      ([module]) =>
        setPage((before: FunctionComponent | null) =>
          readable || before === null ? module.default : before,
        ),
      (error: Error) => setFailed(error.message),
    );
  }, [session.value === null, readable]);
  // Every page hears from the server, so that each says when it is away, and notices that its session has ended.
  useEffect(() => (readable ? onChange(() => {}) : undefined), [readable]);
  const couldRead = useRef(false);
  useEffect(() => {
    // The session has ended: whoever signs in again finds what was typed.
    if (couldRead.current && !readable) askingWho.value = true;
    couldRead.current = readable;
  }, [readable]);

  return (
    <>
      <header class="masthead">
        <a class="home" href="/">
          <img src="/mark.svg" alt="" width="36" height="36" />
          Runtrue
        </a>
        <nav aria-label="Workplaces">
          {workplaces.map((workplace) => (
            <a
              key={workplace.path}
              href={workplace.path}
              aria-current={workplace === current ? 'page' : undefined}
            >
              {workplace.name}
            </a>
          ))}
        </nav>
        <div class="who">
          {plantModel.value !== null && (
            <span>
              <span class="when-words">
                {demoPlant.value ? 'Demo without sign-in, now ' : 'Plant time: '}
              </span>
              <time>{formatDateTime(tickingNow.value, utcOffsetMinutes.value)}</time>
            </span>
          )}
          {signInIsOn.value ? plantModel.value !== null && <WhoIsHere /> : <PersonPicker />}
        </div>
      </header>
      <main class="page">
        {!connected.value && readable && (
          <Notice kind="call" title="No connection">
            The server does not answer. What you see may be old. This page tries again by itself.
          </Notice>
        )}
        {failed !== null && (
          <Notice kind="call" title="This page could not start">
            {failed} <a href={location.href}>Try again</a>
          </Notice>
        )}
        <WaitingSamples />
        {Page !== null ? <Page /> : failed === null && <p role="status">Loading…</p>}
      </main>
    </>
  );
}
