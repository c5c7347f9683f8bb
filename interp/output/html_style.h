/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How the HTML report looks. */
#ifndef RUNDLET_HTML_STYLE_H
#define RUNDLET_HTML_STYLE_H

#include "base/text.h"

/* The style sheet (CSS), without its element; holds no `<` and refers to nothing outside. `with_working`: and
 * that of the working of results. */
void html_style_add(Text *out, bool with_working);

#endif
