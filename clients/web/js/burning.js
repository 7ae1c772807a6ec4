// Which set-up burns: on a shared board for everybody, else on this phone.

import { shared } from "./together.js";
import { worksheet } from "./worksheet.js";

/** The id of the set-up that burns, or null where nobody said. */
export function burning() {
  const id = shared.on ? shared.burning : worksheet.view.burning;
  return worksheet.layout?.setups?.some((s) => s.id === id) ? id : null;
}

/** Switch to a set-up; what is shown follows. */
export function burn(id) {
  if (shared.on) shared.burn(id);
  worksheet.look({ setup: id, ...(shared.on ? {} : { burning: id }) });
}
