import type { FunctionComponent } from 'preact';

/** One door of the page. Each is loaded only when somebody goes through it. */
interface Workplace {
  readonly path: string;
  readonly name: string;
  readonly forWhom: string;
  readonly load: () => Promise<{ default: FunctionComponent }>;
}

export const workplaces: readonly Workplace[] = [
  {
    path: '/station',
    name: 'Station',
    forWhom: 'Measure and enter samples',
    load: () => import('../station/Station.tsx'),
  },
  {
    path: '/review',
    name: 'Review',
    forWhom: 'Is it stable, is it good enough? Freeze limits',
    load: () => import('../review/ReviewPage.tsx'),
  },
  {
    path: '/floor',
    name: 'Floor',
    forWhom: 'Every line at a glance, alarms first',
    load: () => import('../floor/FloorPage.tsx'),
  },
  {
    path: '/import',
    name: 'Import',
    forWhom: 'Bring measurements in from a CSV file, take them out',
    load: () => import('../imports/ImportPage.tsx'),
  },
  {
    path: '/setup',
    name: 'Setup',
    forWhom: 'People, lines, streams, sampling plans',
    load: () => import('../setup/SetupPage.tsx'),
  },
];

export const home: Workplace = { path: '/', name: 'Start', forWhom: '', load: () => import('./Home.tsx') };

/** What is shown to whoever has not signed in, and where one-time links lead. */
export const signIn: Workplace = {
  path: '/sign-in',
  name: 'Sign in',
  forWhom: '',
  load: () =>
    location.hash.length > 1 ? import('../sign-in/OneTimeLinkPage.tsx') : import('../sign-in/SignInPage.tsx'),
};

const people: Workplace = {
  path: '/people',
  name: 'People and stations',
  forWhom: 'Administrators',
  load: () => import('../sign-in/PeoplePage.tsx'),
};

const alarms: Workplace = {
  path: '/alarms',
  name: 'Alarms and messages',
  forWhom: 'How many, how they were answered, what could not be delivered',
  load: () => import('../floor/AlarmsPage.tsx'),
};

const handover: Workplace = {
  path: '/handover',
  name: 'Shift handover',
  forWhom: 'What is open, signed by both supervisors',
  load: () => import('../handover/HandoverPage.tsx'),
};

const concessions: Workplace = {
  path: '/concessions',
  name: 'Concessions',
  forWhom: 'What a customer takes as it is',
  load: () => import('../concessions/ConcessionsPage.tsx'),
};

export const currentWorkplace =
  [...workplaces, signIn, people, alarms, handover, concessions].find(
    (workplace) => workplace.path === location.pathname,
  ) ?? home;
