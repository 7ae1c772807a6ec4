// Room on a full phone. What can be fetched again goes; what a person made or did never does.

const SHELL = "evenboard-shell-";
const givers = [];

/** Name something that gives room when there is none: the first named is the first to go. */
export const mayGo = (giver) => givers.push(giver);

/** Tell whoever shows it that there is no room. */
export const tellFull = () => dispatchEvent(new Event("evenboard-full"));

/** The copies of the client's own files: without them it opens only with a line. */
async function dropShell() {
  const names = (await globalThis.caches?.keys()) ?? [];
  await Promise.all(names.filter((name) => name.startsWith(SHELL)).map((name) => caches.delete(name)));
}

/** Write, giving up other things where the phone is full. False where there is no room even so. */
export async function withRoom(write) {
  for (const give of [null, ...givers, dropShell]) {
    try {
      if (give) {
        tellFull();
        await give();
      }
      await write();
      return true;
    } catch (error) {
      if (error?.name !== "QuotaExceededError") return false;
    }
  }
  return false;
}
