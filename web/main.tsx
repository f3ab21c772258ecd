import { render } from 'preact';
import './ui/tokens.css';
import './ui/base.css';
import { Shell } from './ui/Shell.tsx';

render(<Shell />, document.getElementById('page')!);
