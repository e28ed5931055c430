/** A photo with a note, or words alone. */

import { useState } from "preact/hooks";
import { desk } from "../app/desk.ts";
import { callPath, go } from "../app/route.ts";
import type { Guide } from "../engine/guide.ts";
import { smaller } from "../keep/smaller_image.ts";
import { stepTitle } from "../words/event_words.ts";
import { Heading, useImage } from "./parts.tsx";

interface Props {
  readonly guide: Guide;
  readonly stepId: string;
}

export function NotePage({ guide, stepId }: Props) {
  const [words, setWords] = useState("");
  const [image, setImage] = useState<Blob | null>(null);
  const [wrong, setWrong] = useState("");
  const about = stepId === "" ? "" : `${stepTitle(guide.data, stepId)}: `;
  const pick = async (files: FileList | null): Promise<void> => {
    const file = files?.[0];
    if (file === undefined) return;
    try {
      setImage(await smaller(file));
      setWrong("");
    } catch {
      setWrong(`\u201c${file.name}\u201d is not an image this device can read. Choose a photo.`);
    }
  };
  const keep = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (image === null && words.trim() === "") {
      setWrong("Nothing to keep yet: take a photo or write something.");
      return;
    }
    const kept =
      image === null
        ? await desk.say("noted", { text: `${about}${words.trim()}` })
        : await desk.addPhoto(image, words.trim(), stepId);
    if (kept) go(callPath(guide.state.callId));
  };
  return (
    <form class="stack" onSubmit={(event) => void keep(event)} noValidate>
      <Heading>Photo or note</Heading>
      {stepId !== "" && <p class="quiet">About: {stepTitle(guide.data, stepId)}</p>}
      <div class="field">
        <label for="photo">Photo</label>
        <input
          id="photo"
          type="file"
          accept="image/*"
          aria-describedby="photo-note"
          onChange={(event) => void pick(event.currentTarget.files)}
        />
        <span id="photo-note" class="quiet small">
          Made smaller and freed of its position before it is kept.
        </span>
      </div>
      {image !== null && <Preview image={image} />}
      <div class="field">
        <label for="note">Note</label>
        <textarea
          id="note"
          value={words}
          onInput={(event) => setWords(event.currentTarget.value)}
        />
      </div>
      {wrong !== "" && (
        <p class="wrong" role="alert">
          {wrong}
        </p>
      )}
      <button class="main" type="submit">
        Keep it
      </button>
    </form>
  );
}

function Preview({ image }: { readonly image: Blob }) {
  const address = useImage(image);
  return address === "" ? null : (
    <div class="photos">
      <img src={address} alt="The photo to be kept" />
    </div>
  );
}
