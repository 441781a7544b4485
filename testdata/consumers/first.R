store <- "outputs/lantern"
setwd(file.path(store, readLines(file.path(store, "LATEST"))))
stopifnot(system2("sha256sum", c("--check", "--quiet", "SHA256SUMS")) == 0)

t <- subset(read.csv("thresholds.csv"), pitch_type == "four_seam" & variable == "velocity" & outcome == "whiff_rate" &
  reference == "pitch_type_median" & lower_kind == "edge")
cat(paste(t$hand, t$side, t$lower), sep = "\n")
