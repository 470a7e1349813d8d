#!/bin/sh
# Collects every sentence marked in src into a template, in the project's
# folder. Usage: collect.sh FILE
set -eu
find src -name '*.[ch]' | LC_ALL=C sort | xgettext --files-from=- \
    --from-code=UTF-8 --language=C --keyword --keyword=_ --keyword=N_ \
    --keyword=words_count:1,2 \
    --keyword=words_in:1c,2 --flag=words_in:2:pass-c-format --flag=_:1:pass-c-format \
    --flag=N_:1:pass-c-format --flag=words_count:1:pass-c-format \
    --flag=words_count:2:pass-c-format --flag=put:4:c-format \
    --flag=error_set:2:c-format --flag=error_prefix:2:c-format \
    --flag=error_list_add:2:c-format --flag=text_addf:2:c-format \
    --flag=mem_format:1:c-format --flag=add_part:2:c-format \
    --flag=log_error:1:c-format --flag=log_warn:1:c-format \
    --flag=log_info:1:c-format --flag=log_debug:1:c-format \
    --no-location --no-wrap --package-name=thawbell -o "$1"
