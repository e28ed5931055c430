/** Small signs beside words; they say nothing that the words do not. */

const PATHS = {
  step: "M5 12h11m-4-5 5 5-5 5",
  why: "M9 9a3 3 0 1 1 4 3c-1 .6-1 1.2-1 2.5M12 18h.01",
  drawing: "M4 6v12M20 6v12M4 10h5m2 0h9M4 15h9a2 2 0 0 1 4 0h3",
  known: "M6 7h12M6 12h12M6 17h8",
  end: "M6 4v17M6 5h11l-2 4 2 4H6",
  back: "M15 5l-7 7 7 7",
  camera: "M4 8h4l2-3h4l2 3h4v11H4zM12 10a3.5 3.5 0 1 0 0 7 3.5 3.5 0 0 0 0-7z",
  undo: "M8 5 4 9l4 4M4 9h10a6 6 0 0 1 0 12h-3",
  search: "M11 4a7 7 0 1 0 0 14 7 7 0 0 0 0-14zM16 16l5 5",
  later: "M12 3a9 9 0 1 0 0 18 9 9 0 0 0 0-18zM12 7v5l4 2",
} as const;

export type IconName = keyof typeof PATHS;

export function Icon({ name }: { readonly name: IconName }) {
  return (
    <svg viewBox="0 0 24 24" width="24" height="24" aria-hidden="true">
      <path
        d={PATHS[name]}
        fill="none"
        stroke="currentColor"
        stroke-width="2"
        stroke-linecap="round"
        stroke-linejoin="round"
      />
    </svg>
  );
}

export function Mark() {
  return (
    <svg viewBox="0 0 64 64" aria-hidden="true">
      <path d="M32 8c8 10 11 15 11 21a11 11 0 0 1-22 0c0-6 3-11 11-21z" class="solid" />
      <path d="M8 45h48l-6 11H14z" class="line" stroke-width="5" />
    </svg>
  );
}
