// Sheets and solids in and out: files opened, dropped or saved, the samples, the printer. What a file means is for the
// engine to say; the page only takes the sheet it answers with.

import { byId, make, saveAs } from "./dom.js";
import { fromJson, toJson } from "./sheet.js";
import { say } from "./words.js";

const LARGEST = 8000000;

/** Files and samples; `board` has `history`, `engine`, `live`, `page`, `paper`, `notice(words)`, `opened()`. */
export class Files {
  #board;

  constructor(board) {
    this.#board = board;
    const picker = byId("file");
    byId("open-file").addEventListener("click", () => picker.click());
    picker.addEventListener("change", () => {
      if (picker.files.length) this.open(picker.files[0]);
      picker.value = "";
    });
    document.addEventListener("dragover", (event) => event.preventDefault());
    document.addEventListener("drop", (event) => {
      event.preventDefault();
      if (event.dataTransfer.files.length) this.open(event.dataTransfer.files[0]);
    });
    byId("save-svg").addEventListener("click", () => this.#save("svg", "sheet.svg", "image/svg+xml"));
    byId("save-json").addEventListener("click", () => this.#saveJson());
    byId("save-stl").addEventListener("click", () => this.#saveSolid({ do: "stl" }, "stl", "model/stl"));
    byId("save-picture").addEventListener("click", () => {
      const kind = this.#board.page.oblique ? "cabinet" : "isometric";
      this.#saveSolid({ do: "picture", kind, shaded: true }, "svg", "image/svg+xml");
    });
    byId("print").addEventListener("click", () => window.print());
    let after = () => {};
    window.addEventListener("beforeprint", () => {
      after();
      after = this.#board.paper.forPrint();
    });
    window.addEventListener("afterprint", () => {
      after();
      after = () => {};
    });
  }

  /** Fills the menu of samples: `{name, title, sheet}` each. */
  offer(samples) {
    const items = samples.map(({ name, title, sheet }) => {
      const button = make("button", { type: "button" }, make("strong", {}, name.replaceAll("-", " ")), ` ${title}`);
      button.addEventListener("click", () => this.#take(sheet, name));
      return make("li", {}, button);
    });
    byId("samples").replaceChildren(...items);
  }

  /** Opens a file that the user chose. */
  async open(file) {
    const { engine, notice } = this.#board;
    try {
      if (file.size > LARGEST) throw new Error("tooLarge");
      const answer = await engine.ask({ do: "open", name: file.name, text: await file.text() }, "files");
      if (answer.error) throw new Error(answer.error);
      this.#take(answer.sheet, file.name);
    } catch (error) {
      notice(say("notice.notOpened", { name: file.name, why: say(error.message) }));
    }
  }

  #take(data, name) {
    const { history, notice, opened } = this.#board;
    try {
      // Files say nothing about rules; those of the board stay.
      history.put({ ...fromJson(data), rules: history.sheet.rules });
      opened();
      notice(say("notice.opened", { name }));
    } catch (error) {
      notice(say("notice.notOpened", { name, why: say(error.message) }));
    }
  }

  async #save(what, name, type) {
    const { engine, live, notice } = this.#board;
    try {
      const answer = await engine.ask(live.question(what), "files");
      if (answer.error) throw new Error(answer.error);
      saveAs(name, answer, type);
      notice(say("notice.saved", { name }));
    } catch {
      notice(say("noReply"));
    }
  }

  #saveJson() {
    const { history, notice } = this.#board;
    const { lines, ...head } = toJson(history.sheet);
    const rows = lines.map((line) => `  ${JSON.stringify(line)}`).join(",\n");
    const text = `${JSON.stringify(head).slice(0, -1)}, "lines": [\n${rows}\n]}\n`;
    saveAs("sheet.json", text, "application/json");
    notice(say("notice.saved", { name: "sheet.json" }));
  }

  async #saveSolid(question, ending, type) {
    const { engine, live, notice } = this.#board;
    const reading = live.reading;
    if (reading === null) return notice(say("notice.noSolid"));
    const name = ending === "stl" ? "solid.stl" : "picture.svg";
    try {
      const answer = await engine.ask({ ...live.question(question.do), ...question, reading }, "files");
      if (answer.error) return notice(answer.error);
      saveAs(name, answer, type);
      return notice(say("notice.saved", { name }));
    } catch {
      return notice(say("noReply"));
    }
  }
}
