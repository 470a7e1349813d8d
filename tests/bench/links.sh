#!/bin/sh
# The client links no network library and imports nothing that opens a
# connection: what it shows comes from files.
# Usage: links.sh THAWBELL
set -eu
thawbell=$1

libraries=$(ldd "$thawbell")
symbols=$(nm -D --undefined-only "$thawbell" | sed 's/.* //; s/@.*//')
printf '%s libraries, %s symbols from them\n' \
    "$(printf '%s\n' "$libraries" | wc -l)" \
    "$(printf '%s\n' "$symbols" | wc -l)"

# The look itself must work: a program without libc would pass it all.
printf '%s\n' "$libraries" | grep -q 'libc\.so' || {
    echo "ldd tells nothing of $thawbell"
    exit 1
}
printf '%s\n' "$symbols" | grep -qx fwrite || {
    echo "nm tells nothing of $thawbell"
    exit 1
}

wrong=0
for name in curl microhttpd ssl crypto gnutls nghttp2 ssh resolv systemd; do
    if printf '%s\n' "$libraries" | grep "lib$name[-.]"; then
        echo "links lib$name"
        wrong=1
    fi
done
for name in socket socketpair connect bind listen accept accept4 getaddrinfo \
    gethostbyname send sendto sendmsg recv recvfrom recvmsg; do
    if printf '%s\n' "$symbols" | grep -qx "$name"; then
        echo "imports $name()"
        wrong=1
    fi
done
exit "$wrong"
