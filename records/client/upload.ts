// Files of the form are sent in pieces that survive a broken line (tus 1.0.0), two at a time.
//
// Without this script the form sends them in one go. With it each file tells how far it is, can be
// held and sent on, and goes on where it stopped when the line is back or the page is opened again.

import { DetailedError, Upload } from "tus-js-client";

const PIECE = 8 * 1024 * 1024;
const AT_ONCE = 2;
const ASK_MS = 1000;
// Waits before trying again: over two minutes in all; after that the file is held until one says go on.
const RETRIES_MS = [0, 1000, 3000, 5000, 10_000, 20_000, 30_000, 60_000];
const KEPT_WORDS = ["kind", "examination", "source", "title", "date"];

interface Told {
  state: string;
  words: string;
  settled: boolean;
  problem: string;
  image: string;
  title: string;
}

function size(bytes: number): string {
  const [step, unit] = bytes < 1e6 ? [1e3, "kB"] : bytes < 1e9 ? [1e6, "MB"] : [1e9, "GB"];
  return `${(bytes / Number(step)).toFixed(bytes < 1e3 ? 2 : 1)} ${unit}`;
}

class Coming {
  readonly line = document.createElement("li");
  private readonly bar = document.createElement("progress");
  private readonly told = document.createElement("p");
  private readonly hold = document.createElement("button");
  private readonly leave = document.createElement("button");
  private readonly upload: Upload;
  private began = false;
  private held = false;
  over = false;
  kept = false;

  constructor(
    readonly file: File,
    words: Record<string, string>,
    private readonly board: Board,
  ) {
    const name = document.createElement("span");
    name.className = "name";
    name.textContent = file.name;
    this.told.className = "told";
    this.bar.max = file.size || 1;
    this.bar.value = 0;
    this.bar.setAttribute("aria-label", file.name);
    this.say("waits");
    const deeds = document.createElement("span");
    deeds.className = "deeds";
    for (const [button, label] of [
      [this.hold, "Hold"],
      [this.leave, "Leave out"],
    ] as const) {
      button.type = "button";
      button.textContent = label;
      button.setAttribute("aria-label", `${label}: ${file.name}`);
      deeds.append(button);
    }
    this.hold.addEventListener("click", () => this.turn());
    this.leave.addEventListener("click", () => void this.drop());
    this.line.append(name, this.bar, this.told, deeds);
    this.upload = new Upload(file, {
      endpoint: board.begin,
      chunkSize: PIECE,
      retryDelays: RETRIES_MS,
      removeFingerprintOnSuccess: true,
      headers: { "X-CSRFToken": board.token },
      metadata: { ...words, filename: file.name },
      onProgress: (sent, total) => {
        this.bar.value = sent;
        this.say(`${size(sent)} of ${size(total)}`);
      },
      onShouldRetry: (error) => {
        const status = error.originalResponse?.getStatus() ?? 0;
        const again = status === 0 || status === 409 || status === 423 || status >= 500;
        if (again && status !== 507) this.say("The line is broken: it goes on by itself.");
        return again && status !== 507;
      },
      onSuccess: () => void this.wait(),
      onError: (error) => this.stop(error),
    });
  }

  get running(): boolean {
    return this.began && !this.held && !this.over;
  }

  get idle(): boolean {
    return !this.began && !this.held && !this.over;
  }

  async start(): Promise<void> {
    this.began = true;
    if (!this.upload.url) {
      const before = (await this.upload.findPreviousUploads()).filter((one) => one.uploadUrl);
      const last = before.at(-1);
      if (last) this.upload.resumeFromPreviousUpload(last);
    }
    this.upload.start();
  }

  goOn(): void {
    if (!this.held || this.over) return;
    this.turn();
  }

  private turn(): void {
    this.held = !this.held;
    const label = this.held ? "Go on" : "Hold";
    this.hold.textContent = label;
    this.hold.setAttribute("aria-label", `${label}: ${this.file.name}`);
    if (this.held) {
      void this.upload.abort();
      this.say(`held at ${size(this.bar.value)}`);
    } else {
      this.began = false;
      this.say("waits");
    }
    this.board.turnOver();
  }

  private async drop(): Promise<void> {
    this.over = true;
    await this.upload.abort(true).catch(() => undefined);
    this.line.remove();
    this.board.turnOver();
  }

  private stop(error: Error | DetailedError): void {
    const response = "originalResponse" in error ? error.originalResponse : null;
    const status = response?.getStatus() ?? 0;
    if (status >= 400 && status < 500) {
      this.finish("error", response?.getBody() || "The program refused it.");
      return;
    }
    this.held = true;
    this.hold.textContent = "Go on";
    this.hold.setAttribute("aria-label", `Go on: ${this.file.name}`);
    this.say(response?.getBody().slice(0, 200) || "The program cannot be reached. What has come is kept: go on when the line is back.");
    this.board.turnOver();
  }

  // All its bytes are there: stay until the program has checked it.
  private async wait(): Promise<void> {
    this.hold.remove();
    this.leave.remove();
    this.bar.removeAttribute("value");
    const address = this.upload.url;
    if (!address) return;
    for (;;) {
      const answer = await fetch(address, { headers: { Accept: "application/json" } }).catch(() => null);
      if (answer?.status === 404) return this.finish("error", "It is no longer there.");
      if (answer?.ok) {
        const told = (await answer.json()) as Told;
        if (told.settled) return this.settle(told);
        this.say(told.words);
      }
      await new Promise((go) => setTimeout(go, ASK_MS));
    }
  }

  private settle(told: Told): void {
    if (told.state === "refused") return this.finish("error", told.problem);
    this.kept = true;
    const link = document.createElement("a");
    link.href = told.image;
    link.textContent = told.title;
    this.finish(told.state === "known" ? "warning" : "success", told.state === "known" ? "is there already, as " : "kept as ", link);
  }

  private finish(tone: "success" | "warning" | "error", words: string, link?: HTMLElement): void {
    this.over = true;
    this.bar.remove();
    this.hold.remove();
    this.leave.remove();
    this.told.className = `told notice ${tone}`;
    this.told.replaceChildren(words, ...(link ? [link] : []));
    this.board.turnOver();
  }

  private say(words: string): void {
    this.told.textContent = words;
  }
}

class Board {
  readonly begin: string;
  readonly token: string;
  private readonly list: HTMLElement;
  private readonly status: HTMLElement;
  private readonly files: Coming[] = [];

  constructor(
    root: HTMLElement,
    private readonly form: HTMLFormElement,
    private readonly field: HTMLInputElement,
  ) {
    this.begin = root.dataset["begin"] ?? "";
    this.token = form.querySelector<HTMLInputElement>("[name=csrfmiddlewaretoken]")?.value ?? "";
    this.list = root.querySelector("#arriving-list") as HTMLElement;
    this.status = root.querySelector("#arriving-told") as HTMLElement;
    const drop = root.querySelector("#drop") as HTMLElement;
    field.closest(".field")?.append(drop);
    drop.hidden = false;
    for (const name of ["dragenter", "dragover"]) {
      drop.addEventListener(name, (event) => {
        event.preventDefault();
        drop.classList.add("over");
      });
    }
    drop.addEventListener("dragleave", () => drop.classList.remove("over"));
    drop.addEventListener("drop", (event) => {
      event.preventDefault();
      drop.classList.remove("over");
      if (event.dataTransfer?.files.length) field.files = event.dataTransfer.files;
    });
    form.addEventListener("submit", (event) => {
      if (!field.files?.length) return;
      event.preventDefault();
      this.take([...field.files]);
    });
    addEventListener("online", () => this.files.forEach((one) => one.goOn()));
    addEventListener("beforeunload", (event) => {
      if (this.files.some((one) => one.running)) event.preventDefault();
    });
  }

  private take(files: File[]): void {
    const given = new FormData(this.form);
    const words: Record<string, string> = { many: files.length > 1 ? "yes" : "no" };
    for (const name of KEPT_WORDS) words[name] = String(given.get(name) ?? "");
    for (const file of files) {
      const coming = new Coming(file, words, this);
      this.files.push(coming);
      this.list.append(coming.line);
    }
    this.field.value = "";
    this.list.scrollIntoView({ block: "nearest" });
    this.turnOver();
  }

  // Begin what waits, and tell how many are done.
  turnOver(): void {
    let free = AT_ONCE - this.files.filter((one) => one.running).length;
    for (const one of this.files) {
      if (free > 0 && one.idle) {
        free -= 1;
        void one.start();
      }
    }
    const done = this.files.filter((one) => one.over).length;
    this.status.textContent = done ? `${done} of ${this.files.length} files done` : "";
  }
}

const root = document.getElementById("arriving");
const field = document.querySelector<HTMLInputElement>("input[type=file][name=uploads]");
if (root && field?.form) new Board(root, field.form, field);
