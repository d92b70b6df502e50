# Runs reference functions. Reads a JSON list of {id, module, function, input}, prints one JSON line each: {id, values} or {id, error}.
arguments <- commandArgs(TRUE)
folder <- arguments[2]
tasks <- jsonlite::fromJSON(arguments[1], simplifyVector = TRUE, simplifyDataFrame = FALSE, simplifyMatrix = TRUE)
loaded <- list()
for (task in tasks) {
  if (is.null(loaded[[task$module]])) {
    loaded[[task$module]] <- new.env()
    suppressPackageStartupMessages(sys.source(file.path(folder, paste0(task$module, ".R")), envir = loaded[[task$module]]))
  }
  values <- tryCatch(suppressWarnings(suppressMessages(loaded[[task$module]][[task$`function`]](task$input))),
    error = function(problem) list(error = conditionMessage(problem)))
  shown <- if (is.null(values$error)) list(values = lapply(values, function(value) sprintf("%.17g", value))) else values["error"]
  cat(jsonlite::toJSON(c(list(id = task$id), shown), auto_unbox = TRUE), "\n", sep = "")
}
