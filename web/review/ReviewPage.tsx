export default function ReviewPage() {
  return <h1>ReviewPage</h1>;
}
