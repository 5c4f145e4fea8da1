# The model of fit_peer.py, solved by minpack.lm: Rscript fit_peer.R FOLDER, with the tables that
# fit_peer.py writes there. Prints seconds, evaluations and the sum of squares that it ends with.
suppressMessages(library(minpack.lm))
folder <- commandArgs(trailingOnly = TRUE)[1]
table <- function(name) read.csv(file.path(folder, name), stringsAsFactors = FALSE)
readings <- table("readings.csv")
modes <- table("modes.csv")
ground <- table("ground.csv")
jitter <- table("jitter.csv")
parameters <- table("parameters.csv")
scalar <- as.list(table("scalars.csv"))
knots <- c(-90, -40, 0, 10, 25, 45, 65, 80, 90)
width <- diff(knots)
xi <- 0.8 * (-4:4)
weight <- exp(-xi^2 / 2) / sum(exp(-xi^2 / 2))

curve_at <- function(theta, angle) {
  share <- exp(theta[3:10]) * width
  value <- theta[1] + (theta[2] - theta[1]) * c(0, cumsum(share / sum(share)))
  secant <- diff(value) / width
  n <- length(width)
  left <- width[-n]
  right <- width[-1]
  slope <- c(secant[1], 3 * (left + right) / ((left + 2 * right) / secant[-n] +
                                              (2 * left + right) / secant[-1]), secant[n])
  i <- pmin(pmax(findInterval(angle, knots, left.open = TRUE), 1), n)
  t <- (angle - knots[i]) / width[i]
  u <- 1 - t
  (1 + 2 * t) * u * u * value[i] + t * t * (3 - 2 * t) * value[i + 1] +
    width[i] * t * u * (u * slope[i] - t * slope[i + 1])
}

at <- function(name) match(name, parameters$name)
key <- paste(ground$zone, ground$height)
expected <- function(theta) {
  alpha <- sapply(unique(modes$target), function(name) {
    own <- modes[modes$target == name, ]
    x <- 1i * scalar$omega * exp(theta[at(paste0("target.", name, ".log_time"))]) * own$tau
    exp(theta[at(paste0("target.", name, ".log_strength"))]) * sum(own$strength * x / (1 + x))
  })
  sapply(seq_len(nrow(readings)), function(r) {
    here <- readings[r, ]
    turn <- theta[at(paste0("zone.", here$zone, ".angle_deg"))]
    if (here$target == "sand")
      return(sum(weight * curve_at(theta, pmin(pmax(turn + scalar$wander * xi, -90), 90))))
    a <- alpha[[here$target]]
    if (here$zone == "air")
      return(curve_at(theta, atan(Re(a) / Im(a)) * 180 / pi))
    near <- ground[match(paste(here$zone, here$height), key), ]
    swing <- ground[match(paste(here$zone, scalar$swing), key), ]
    psi <- (turn + near$angle - swing$angle) * pi / 180
    level <- 0.002 * near$strength * exp(theta[at("salt.log_level")] +
                                         theta[at(paste0("zone.", here$zone, ".log_salt"))])
    residual <- level + jitter$jitter[match(here$zone, jitter$zone)] * near$strength /
      swing$strength * xi
    gap <- here$depth + here$height
    total <- a * scalar$radius^3 / (4 * (scalar$radius^2 + gap^2)^3) +
      residual * complex(real = sin(psi), imaginary = cos(psi))
    sum(weight * curve_at(theta, atan(Re(total) / Im(total)) * 180 / pi))
  })
}

residuals_of <- function(theta) {
  prior <- (theta - parameters$prior_mean) / parameters$prior_sd
  c(scalar$weight * (expected(theta) - readings$number), prior[1:2], diff(theta[3:10]) / 0.7,
    mean(theta[3:10]), prior[-(1:10)])
}
took <- system.time(
  solved <- nls.lm(parameters$prior_mean, fn = residuals_of,
                   control = nls.lm.control(maxiter = 100, maxfev = 20000)))["elapsed"]
cat(took, solved$niter, deviance(solved), "\n")
