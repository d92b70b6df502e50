# Runs reference functions. Reads a JSON list of {id, module, function, input}, prints a line each: id, name and value, tab between.
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
  for (name in names(values))
    cat(task$id, name, if (name == "error") values[[name]] else sprintf("%.17g", values[[name]]), sep = "\t", fill = FALSE, "\n")
}
