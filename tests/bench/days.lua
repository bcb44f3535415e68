-- GET the days of a random athlete: arguments are the path with %s for the athlete, a file of athletes, a token.
local athletes, path, token = {}, nil, nil

function init(args)
    path, token = args[1], args[3]
    for line in io.lines(args[2]) do athletes[#athletes + 1] = line end
    math.randomseed(tonumber(tostring({}):sub(8)) or 1)
end

function request()
    local headers = { Authorization = "Bearer " .. token }
    return wrk.format("GET", path:format(athletes[math.random(#athletes)]), headers)
end

function done(summary, latency)
    local failed = summary.errors.status + summary.errors.connect + summary.errors.read + summary.errors.write + summary.errors.timeout
    io.write(("RESULT %d %d %d %d\n"):format(summary.requests, summary.duration, latency:percentile(99), failed))
end
