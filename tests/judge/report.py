def write(results, docs):
    print(len(results.judged), len(results.forecasts), len(results.starts))
