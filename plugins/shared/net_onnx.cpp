#define ORT_API_MANUAL_INIT  // the runtime comes from dlopen: its exported symbol carries its release
#include <dlfcn.h>
#include <onnxruntime_cxx_api.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <stdexcept>

#include "plugins/shared/net.hpp"

namespace canalogue::nets {

namespace {

constexpr int kThreads = 1;
constexpr const char* kNoRuntime =
    "The runtime for its models is missing or of another release; fetch it with app/setup/models.sh.";

// Opens the runtime once for the process.
void open_runtime(const std::string& models_dir) {
    static const bool opened = [&] {
        void* library = ::dlopen((models_dir + "/lib/libonnxruntime.so.1").c_str(), RTLD_NOW | RTLD_LOCAL);
        if (!library) return false;
        const auto base = reinterpret_cast<const OrtApiBase* (*)()>(::dlsym(library, "OrtGetApiBase"));
        const OrtApi* api = base ? base()->GetApi(ORT_API_VERSION) : nullptr;
        if (api) Ort::InitApi(api);
        return api != nullptr;
    }();
    if (!opened) throw std::runtime_error(kNoRuntime);
}

Ort::Env& environment() {
    static Ort::Env env(ORT_LOGGING_LEVEL_FATAL, "canalogue");
    return env;
}

Ort::SessionOptions options() {
    Ort::SessionOptions o;
    o.SetIntraOpNumThreads(kThreads);
    o.SetInterOpNumThreads(1);
    // Threads that wait busily would take the processor from the decoder, which feeds us.
    o.AddConfigEntry("session.intra_op.allow_spinning", "0");
    return o;
}

// Tells how long it lived, where a measurement asks for it.
class Stopwatch {
  public:
    explicit Stopwatch(const std::string& file) : file_(file) {}
    ~Stopwatch() {
        static const char* const log = std::getenv("CANALOGUE_NET_RUNS");
        if (!log) return;
        if (std::FILE* out = std::fopen(log, "a")) {
            std::fprintf(out, "%s %.2f\n", file_.c_str(), std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start_).count());
            std::fclose(out);
        }
    }

  private:
    const std::string& file_;
    std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now();
};

}  // namespace

struct Net::Session {
    explicit Session(const std::string& path) : ort(environment(), path.c_str(), options()) {
        Ort::AllocatorWithDefaultOptions names;
        input = ort.GetInputNameAllocated(0, names).get();
        output = ort.GetOutputNameAllocated(0, names).get();
    }
    Ort::Session ort;
    std::string input, output;
};

Net::Net(const std::string& models_dir, const std::string& file) : file_(file) {
    open_runtime(models_dir);
    try {
        session_ = std::make_unique<Session>(models_dir + "/" + file);
    } catch (const Ort::Exception&) {
        throw std::runtime_error("The model file " + file +
                                 " cannot be used; fetch it with app/setup/models.sh.");
    }
}

Net::~Net() = default;

Tensor Net::run(const Tensor& in) {
    auto out = run({{session_->input, &in}}, {session_->output});
    return std::move(out.front());
}

std::vector<Tensor> Net::run(const std::vector<Input>& inputs, const std::vector<std::string>& outputs) {
    const Stopwatch stopwatch(file_);
    try {
        const auto memory = Ort::MemoryInfo::CreateCpu(OrtArenaAllocator, OrtMemTypeDefault);
        std::vector<std::int64_t> wholes;
        wholes.reserve(inputs.size());
        std::vector<Ort::Value> given;
        std::vector<const char*> in_names, out_names;
        for (const auto& in : inputs) {
            in_names.push_back(in.name.c_str());
            if (const auto* whole = std::get_if<std::int64_t>(&in.value)) {
                wholes.push_back(*whole);
                given.push_back(Ort::Value::CreateTensor<std::int64_t>(memory, &wholes.back(), 1, nullptr, 0));
                continue;
            }
            // The runtime reads its inputs only; its interface does not say so.
            auto& t = const_cast<Tensor&>(*std::get<const Tensor*>(in.value));
            given.push_back(Ort::Value::CreateTensor<float>(memory, t.values.data(), t.values.size(),
                                                            t.shape.data(), t.shape.size()));
        }
        for (const auto& name : outputs) out_names.push_back(name.c_str());
        const auto got = session_->ort.Run(Ort::RunOptions{nullptr}, in_names.data(), given.data(),
                                           given.size(), out_names.data(), out_names.size());
        std::vector<Tensor> out;
        for (const auto& value : got) {
            const auto about = value.GetTensorTypeAndShapeInfo();
            const auto* values = value.GetTensorData<float>();
            out.push_back({{values, values + about.GetElementCount()}, about.GetShape()});
        }
        return out;
    } catch (const Ort::Exception&) {
        throw std::runtime_error("A model failed while it was running; memory may have run out.");
    }
}

std::string why_no_nets(const std::string& models_dir, const std::vector<std::string>& files) {
    std::error_code ignored;
    if (!std::filesystem::exists(models_dir + "/lib/libonnxruntime.so.1", ignored)) return kNoRuntime;
    for (const auto& file : files)
        if (!std::filesystem::exists(models_dir + "/" + file, ignored))
            return "The model file " + file + " is missing; fetch it with app/setup/models.sh.";
    return {};
}

}  // namespace canalogue::nets
