# Everything here works from a clean clone on a machine with Go alone.

.PHONY: test core page browser gallery bench fuzz lint golden

# All checks: formatting, vet, tests; and the page as far as Node and Chromium are there. Go fetches the libraries itself.
test: core
	@sh web/page/tools/need-browser.sh; case $$? in \
	0) $(MAKE) page && cd web/page && npm run browser -- --project page;; \
	3) $(MAKE) page && echo "left out: the page in a browser";; \
	4) echo "left out: all tests of the page";; \
	*) exit 1;; esac

# The checks that need Go alone.
core:
	@unformatted=$$(gofmt -l .); if [ -n "$$unformatted" ]; then echo "not gofmt'ed:"; echo "$$unformatted"; exit 1; fi
	go vet ./...
	go test ./...

# The page (web/page; needs Node 20): check, test, build. The built page is committed, so that nobody else needs Node.
page:
	cd web/page && npm ci --no-audit --no-fund && npm run check && npm test && npm run build
	git diff --exit-code --stat -- web/page/dist

# The page in Debian's Chromium, which is installed where that can be done without asking; with its frame rate and its weight.
browser:
	sh web/page/tools/need-browser.sh
	cd web/page && npm ci --no-audit --no-fund && npm run browser

# Pictures of every view of the page, in both themes and widths, into the folder that OUT names.
gallery:
	sh web/page/tools/need-browser.sh
	cd web/page && npm run gallery -- $(abspath $(or $(OUT),gallery))

# Speed, as benchmarks, and what the fast evaluation of settings gains as ratios of figures from one run; nothing is
# asserted. The comparisons need Debian's python3-numpy and python3-scipy.
PYTHON ?= /usr/bin/python3
bench:
	go test -run '^$$' -bench . -benchmem ./physics/network ./study/sweep ./study/tune ./bench/quantity ./bench/touchstone ./bench/capture ./physics/chirp ./study/leastsquares
	@out=$$(mktemp) && { go test -run '^$$' -bench . -count 3 ./physics/multiaffine; \
		go test -run '^$$' -bench Ten -count 3 ./study/identify; \
		if $(PYTHON) -c 'import numpy' 2>/dev/null; then env -u OPENBLAS_CORETYPE -u OPENBLAS_L2_SIZE $(PYTHON) tools/ratio/map.py; \
		else echo "# no NumPy for $(PYTHON): apt-get install python3-numpy"; fi; \
		if $(PYTHON) -c 'import scipy' 2>/dev/null; then env -u OPENBLAS_CORETYPE -u OPENBLAS_L2_SIZE $(PYTHON) tools/ratio/fit.py; \
		else echo "# no SciPy for $(PYTHON): apt-get install python3-scipy"; fi; } | tee $$out && echo && go -C tools run ./ratio < $$out; rm -f $$out

# Half a minute of fuzzing for every reader of the user's text.
fuzz:
	@for package in $$(go list ./...); do \
		for target in $$(go test -list '^Fuzz' $$package | grep '^Fuzz'); do \
			echo "$$package $$target"; go test -run '^$$' -fuzz "^$$target\$$" -fuzztime 30s $$package || exit 1; \
		done; \
	done

# The linter has a module of its own, so that its dependencies stay out of the product's. The first run builds it.
lint:
	go tool -modfile=tools/go.mod golangci-lint run ./...

# Renew the golden files of pictures, command transcripts and the README; read the difference before committing.
golden:
	go test ./figure -update
	go test ./figure/schematic -run Golden -update
	UPDATE_GOLDEN=1 go test ./cli
