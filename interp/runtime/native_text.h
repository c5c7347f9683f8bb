/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the owner of a NativeContext must know of the natives on text. */
#ifndef RUNDLET_NATIVE_TEXT_H
#define RUNDLET_NATIVE_TEXT_H

/* Frees NativeContext.regex, the compiled patterns; NULL is fine. */
void native_text_free(void *cache);

#endif
