import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { call } from '../client.ts';

/** The way to the sign-in provider, where the plant has one. */
export function ProviderLink() {
  const name = useSignal<string | null>(null);
  useEffect(() => {
    // Without an answer there is still the password.
    call('GET /api/sign-in/provider').then(
      (provider) => {
        name.value = provider.name;
      },
      () => {},
    );
  }, []);
  if (name.value === null) return null;
  return (
    <a class="button" href="/api/sign-in/provider/begin">
      Sign in with {name.value}
    </a>
  );
}
