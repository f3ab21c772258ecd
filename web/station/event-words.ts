import type { EventKind } from '../../api/schemas.ts';

/** Each kind of event: its button, its question, and what to write. */
export const eventWords: Record<EventKind, { button: string; question: string; hint: string }> = {
  changeover: {
    button: 'Changeover',
    question: 'Which model runs from now on?',
    hint: 'First piece, setting, who released it.',
  },
  coil: { button: 'New coil', question: 'Which coil lot runs from now on?', hint: 'Anything worth knowing.' },
  'tool change': {
    button: 'Tool change',
    question: 'Which tool was changed?',
    hint: 'Old and new tool, and why.',
  },
  regrind: { button: 'Regrind', question: 'What was ground?', hint: 'Tool, and how much was taken off.' },
  adjustment: {
    button: 'Adjustment',
    question: 'What was adjusted?',
    hint: 'What, by how much, and why.',
  },
  stoppage: { button: 'Stoppage', question: 'When did the line stand?', hint: 'Why it stood.' },
  'gauge check': {
    button: 'Gauge check',
    question: 'What did the check standard read?',
    hint: 'Gauge, check standard, and what it read.',
  },
  note: { button: 'Note', question: 'What should others know?', hint: 'What you saw.' },
};
