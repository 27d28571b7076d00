#define ORT_API_MANUAL_INIT  // the runtime comes from dlopen: its exported symbol carries its release
#include <dlfcn.h>
#include <onnxruntime_cxx_api.h>

#include <filesystem>
#include <stdexcept>

#include "plugins/burnt_text/net.hpp"

namespace canalogue::burnt_text {

namespace {

constexpr int kThreads = 2;
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
    static Ort::Env env(ORT_LOGGING_LEVEL_FATAL, "burnt_text");
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

Net::Net(const std::string& models_dir, const std::string& file) {
    open_runtime(models_dir);
    try {
        session_ = std::make_unique<Session>(models_dir + "/" + file);
    } catch (const Ort::Exception&) {
        throw std::runtime_error("The model file " + file +
                                 " cannot be used; fetch it with app/setup/models.sh.");
    }
}

Net::~Net() = default;

Tensor Net::run(Tensor& in) {
    try {
        const auto memory = Ort::MemoryInfo::CreateCpu(OrtArenaAllocator, OrtMemTypeDefault);
        const auto given = Ort::Value::CreateTensor<float>(memory, in.values.data(), in.values.size(),
                                                           in.shape.data(), in.shape.size());
        const char* input = session_->input.c_str();
        const char* output = session_->output.c_str();
        const auto out = session_->ort.Run(Ort::RunOptions{nullptr}, &input, &given, 1, &output, 1);
        const auto about = out[0].GetTensorTypeAndShapeInfo();
        const auto* values = out[0].GetTensorData<float>();
        return {{values, values + about.GetElementCount()}, about.GetShape()};
    } catch (const Ort::Exception&) {
        throw std::runtime_error("A model failed while it was running; memory may have run out.");
    }
}

std::string why_no_nets(const std::string& models_dir) {
    std::error_code ignored;
    return std::filesystem::exists(models_dir + "/lib/libonnxruntime.so.1", ignored) ? "" : kNoRuntime;
}

}  // namespace canalogue::burnt_text
