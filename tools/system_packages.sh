#!/bin/sh
# Install the outside programs that tests compare with, and say plainly what could not be had.
# The product itself needs none of them. Exit 0: all there. Exit 1: something is missing.
set -eu

has_r_package() {
    command -v Rscript >/dev/null && Rscript --vanilla -e "find.package('$1')" >/dev/null 2>&1
}

missing() {
    command -v Rscript >/dev/null || echo r-base-core       # the language of the packages below
    has_r_package metafor || echo r-cran-metafor            # meta-analysis, bivariate models
    has_r_package psych || echo r-cran-psych            # alpha, intraclass correlations
    has_r_package lme4 || echo r-cran-lme4                  # mixed models, variance components
    has_r_package eRm || echo r-cran-erm                    # Rasch models, fit of items
    [ -n "$(ls /usr/lib/postgresql/*/bin/initdb 2>/dev/null || command -v initdb)" ] || echo postgresql # the other database
    command -v certutil >/dev/null || echo libnss3-tools    # the list of authorities that a browser keeps
    command -v WebKitWebDriver >/dev/null || echo webkit2gtk-driver # the engine of most tablets
    { command -v firefox-esr || command -v firefox; } >/dev/null || echo firefox-esr # a third engine
    command -v Xvfb >/dev/null || echo xvfb             # a screen for it that nobody sees
    command -v chromium >/dev/null || echo chromium         # the browser that opens the pages
    command -v pdftoppm >/dev/null || echo poppler-utils    # PDF pages as pictures, embedded fonts
    fc-list 2>/dev/null | grep -q "Liberation Serif" || echo fonts-liberation # the serif in which pages are measured
}

wanted=$(missing | tr '\n' ' ')
[ -n "$wanted" ] || exit 0

if [ "$(id -u)" -eq 0 ] && command -v apt-get >/dev/null; then
    echo "Installing test references: $wanted"
    export DEBIAN_FRONTEND=noninteractive
    apt-get -qq -o Acquire::Retries=2 update >/dev/null || true
    for package in $wanted; do # one by one, so that one missing package does not cost the others
        apt-get -qq -y --no-install-recommends install "$package" >/dev/null 2>&1 || true
    done
fi

wanted=$(missing | tr '\n' ' ')
[ -n "$wanted" ] || exit 0

echo "Test references not installed: $wanted"
echo "Tests that need them are skipped here, and fail when CI=true. On Debian, as root:"
echo "    apt-get install $wanted"
exit 1
