-- POST prepared requests one after the other. Arguments: a file of lines "path token body", of which each thread of wrk
-- takes its share; the number of threads; "again" to start over at the end of the file, or "once".
local counter, threads, line = 0, nil, nil

function setup(thread)
    thread:set("number", counter)
    counter = counter + 1
end

function init(args)
    local share = tonumber(args[2])
    local lines, at = {}, 0
    for text in io.lines(args[1]) do
        if at % share == number then lines[#lines + 1] = text end
        at = at + 1
    end
    local next_line = 0
    line = function()
        next_line = next_line + 1
        if next_line > #lines and args[3] == "again" then next_line = 1 end
        if next_line > #lines then
            io.stderr:write("post.lua: out of requests\n")
            os.exit(1)
        end
        return lines[next_line]
    end
end

function request()
    local path, token, body = line():match("^(%S+) (%S+) (.*)$")
    return wrk.format("POST", path, { Authorization = "Bearer " .. token, ["Content-Type"] = "application/json" }, body)
end

function done(summary, latency)
    local failed = summary.errors.status + summary.errors.connect + summary.errors.read + summary.errors.write + summary.errors.timeout
    io.write(("RESULT %d %d %d %d\n"):format(summary.requests, summary.duration, latency:percentile(99), failed))
end
