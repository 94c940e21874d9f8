# A Weibull accelerated-failure-time fit by R's survival::survreg. Prints one line of JSON.
suppressPackageStartupMessages({ if (!requireNamespace("survival", quietly = TRUE)) quit(status = 77); library(survival) })
seconds <- function() as.numeric(proc.time()[["elapsed"]])
started <- seconds()
arguments <- commandArgs(trailingOnly = TRUE)
table <- read.csv(arguments[1], colClasses = "numeric")
runs <- as.integer(arguments[2])
read <- seconds() - started
# interval2: blank upper is right-censored, equal is exact.
table$upper[is.infinite(table$upper)] <- NA
fit <- NULL
times <- replicate(runs, {
  start <- Sys.time()
  fit <<- survreg(Surv(lower, upper, type = "interval2") ~ a + b + c + d + e, data = table, dist = "weibull")
  as.numeric(difftime(Sys.time(), start, units = "secs"))
})
numbers <- function(values) paste0("[", paste(formatC(values, digits = 17, format = "g"), collapse = ","), "]")
cat(sprintf('{"read":%.17g,"fits":%s,"estimates":%s,"version":"survival %s"}\n', read, numbers(times),
            numbers(c(coef(fit), log(fit$scale))), packageVersion("survival")))
