// What every page of the bench runs; each module does nothing where its part of the page is not.

import "./news.js";
import "./answer.js";
import "./form.js";
import "./beside.js";
import "./section.js";
import "./try.js";
import "./work.js";
