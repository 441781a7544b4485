#!/usr/bin/env Rscript
# Grades pitches with base R, from a version's CSV: grade.R STORE PITCHES [VERSION]
args <- commandArgs(trailingOnly = TRUE)
folder <- args[1]

# Which version: the log alone tells. The one asked for, else the newest of major 1.
# Base R reads no JSON; an entry holds one member a line.
member <- function(file, name) {
  line <- grep(paste0('^  "', name, '": "'), readLines(file), value = TRUE)
  if (length(line)) sub('".*', "", sub(paste0('^  "', name, '": "'), "", line[1])) else ""
}
entries <- Sys.glob(file.path(folder, "_log", "*.json"))
log <- data.frame(action = sapply(entries, member, "action"), version = sapply(entries, member, "version"),
                  sum = sapply(entries, member, "manifest_sha256"), row.names = NULL)
log <- log[log$action == "publish" & !log$version %in% log$version[log$action == "retract"], ]
log <- if (length(args) > 2) log[log$version == args[3], ] else log[grepl("^v1[.]", log$version), ]
if (nrow(log) == 0) stop("no such version")
log <- log[order(numeric_version(sub("v", "", log$version)), decreasing = TRUE)[1], ]
folder <- file.path(folder, log$version)

# Verify: the log vouches for the manifest, the manifest for every other file.
check <- function(sums, files) {
  if (system2("sha256sum", c("--check", "--quiet", "--strict"), input = paste0(sums, "  ", files)) != 0)
    stop("a file is not what was published")
}
manifest <- file.path(folder, "manifest.json")
check(log$sum, manifest)
if (!startsWith(member(manifest, "schema_version"), "1.")) stop("unknown schema")
lines <- readLines(manifest)
outputs <- lines[grep('^  "outputs": ', lines):length(lines)]
listed <- function(name) sub('.*"(.*)",?$', "\\1", grep(paste0('^      "', name, '": '), outputs, value = TRUE))
check(listed("sha256"), file.path(folder, listed("path")))

text <- c("hand", "side", "pitch_type", "stratum", "variable", "outcome", "reference", "verdict")
read <- function(name) {
  rows <- read.csv(file.path(folder, name), na.strings = "", stringsAsFactors = FALSE)
  for (column in intersect(text, names(rows))) rows[[column]][is.na(rows[[column]])] <- ""
  rows[rows$stratum == "", ]
}
verdicts <- read("verdicts.csv")
zones <- read("zones.csv")
stretches <- read("stretches.csv")
curves <- read("curves.csv")
bins <- read("bins.csv")

cell <- c("hand", "side", "pitch_type", "variable", "outcome")
key <- c(cell, "reference")
of <- function(rows, columns, p) {
  for (column in columns) rows <- rows[rows[[column]] == p[[column]], ]
  rows
}
fixed <- function(x, decimals) ifelse(is.na(x), "", sprintf(paste0("%.", decimals, "f"), x))

grade <- function(p) {
  x <- p$x
  z <- of(zones, key, p)
  v <- of(verdicts, key, p)$verdict
  if (length(v) == 0) v <- if (nrow(z)) "found" else ""
  # The range observed is that of the cell, whatever the line; of both outcomes at once, the first one.
  first <- p
  if (p$outcome == "joint") first$outcome <- "whiff_rate"
  seen <- of(curves, cell, first)$x
  observed <- length(seen) > 0 && x >= min(seen) && x <= max(seen)
  s <- of(stretches, key, p)
  sign <- s$sign[x >= s$lo & x <= s$hi]
  position <- if (v %in% c("", "too_few", "inconclusive")) "no_threshold"
    else if (!observed) "beyond_data"
    else if (length(sign)) (if (sign[1] > 0) "inside" else "outside")
    else if (nrow(z)) "unresolved"
    else switch(v, always_beats = "inside", never_beats = "outside", "unresolved")
  edges <- sort(c(z$lower[z$lower_kind == "edge"], z$upper[z$upper_kind == "edge"]))
  nearest <- if (length(edges)) edges[which.min(abs(x - edges))] else NA
  points <- of(curves, key, p)
  rate <- c(NA, NA, NA)
  if (observed && nrow(points)) rate <- sapply(points[c("rate", "lo", "hi")], function(y) approx(points$x, y, x)$y)
  b <- of(bins, cell, p)
  thin <- any(b$thin == "true" & b$kind != "missing" & !(b$lower > x & !is.na(b$lower)) & !(b$upper <= x & !is.na(b$upper)))
  paste(c(p[key], fixed(x, 2), v, position, fixed(nearest, 2), fixed(x - nearest, 2), fixed(rate, 4), if (thin) "thin" else ""), collapse = ",")
}

pitches <- read.csv(args[2], stringsAsFactors = FALSE)
cat(paste(c(names(pitches), "verdict,position,nearest,distance,rate,lo,hi,thin"), collapse = ","), "\n", sep = "")
for (i in seq_len(nrow(pitches))) cat(grade(as.list(pitches[i, ])), "\n", sep = "")
